"""Leaving a task: which of its ways is open at an end, and whose waits are over first."""

from collections.abc import Sequence
from sys import maxsize
from typing import NamedTuple

from scheduling.solver.problem import ReadyCurve


class Hold(NamedTuple):
    """Equipment that stays with what a task left until the last of the curves says so, and the
    spans in which others have all there is of it."""

    curves: tuple[ReadyCurve, ...]
    full: list[tuple[int, int]]


class Exit(NamedTuple):
    """One way to leave a task, and what the tasks already placed make of it.

    The task ends from ``first_end`` to ``latest``. curves: of all waits that count then.
    """

    way: int
    curves: tuple[ReadyCurve, ...]
    latest: int
    first_end: int
    holds: tuple[Hold, ...]

    def over(self, end: int) -> int:
        """Return when the last of the waits is over that begin at tick ``end``."""
        return held_until(self.curves, end)

    def open_from(self, end: int) -> int:
        """Return ``end`` where the task can end then and be left so, else the next end to try,
        ``maxsize`` for none."""
        if end > self.latest:
            return maxsize
        later = max(end, self.first_end)
        for curves, full in self.holds:
            until = held_until(curves, end)
            for first, last in full:
                if first < until and end < last and end < until:
                    later = max(later, last)
        return later


def held_until(curves: Sequence[ReadyCurve], end: int) -> int:
    """Return the tick at which the last of the curves lets go; ``end`` where none asks for more."""
    return max(end, *(curve.ready(end) for curve in curves))


def first_exit(exits: Sequence[Exit], end: int) -> tuple[int, int]:
    """Return the way (number) whose waits are over first of those open at an end, and the end;
    where none is open, any way and the next end to try.

    Of ways equally quick the one that holds least is taken.
    """
    ends = [exit_.open_from(end) for exit_ in exits]
    found = [exit_ for exit_, at in zip(exits, ends, strict=True) if at == end]
    if not found:
        return exits[0].way, min(ends)
    return min((one.over(end), len(one.holds), one.way) for one in found)[2], end
