"""Ticks of many histories at once: curves and allowed starts that answer for all of them."""

from collections.abc import Callable
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from scheduling.solver.problem import ReadyCurve
from scheduling.solver.starts import StartChoices

NEVER = 10**9
"""The tick of what does not come about before the horizon."""

type Ticks = NDArray[np.int64]
"""One tick for each history."""
type Later = Callable[[Ticks], Ticks]
"""Answers ticks with ticks at or after them, each history its own; never falls as they rise."""


def in_all(curve: ReadyCurve) -> Later:
    """Return a curve's ``ready`` for many ticks, the same in every history."""
    ends, lags, floors = (np.array(column) for column in (curve.ends, curve.lags, curve.floors))

    def ready(at: Ticks) -> Ticks:
        step = np.minimum(np.searchsorted(ends, at), len(ends) - 1)
        return np.asarray(np.maximum(at + lags[step], floors[step]))

    return ready


def after(ready: Later, ends: Ticks) -> Ticks:
    """Return when something may follow what ended, NEVER for what did not end."""
    over = ends < NEVER
    answer: Ticks = np.minimum(ready(np.where(over, ends, 0)), NEVER)
    return np.where(over, answer, NEVER)


def if_done(ends: Ticks) -> Ticks:
    """Return ends that what did not come about holds nobody up with."""
    return np.where(ends < NEVER, ends, 0)


class Starts(NamedTuple):
    """:class:`StartChoices` as arrays, with a last one, at NEVER, for when there are no more."""

    lows: Ticks
    highs: Ticks
    lengths: Ticks
    opens: Ticks

    @classmethod
    def of(cls, choices: StartChoices) -> Self:
        """Return the arrays of a task's choices on one crew."""
        return cls(
            np.array([*choices.lows, NEVER]),
            np.array([*choices.highs, NEVER]),
            np.array([*choices.durations, 0]),
            np.array([*choices.opens, NEVER]),
        )

    def first(self, floor: Ticks, free: Ticks, gap: Ticks) -> tuple[Ticks, Ticks]:
        """Return the earliest allowed start from a floor on, and the end it leads to.

        free: when the crew is free; gap: how long it is then on its way, within a window.
        """
        at = np.searchsorted(self.highs, np.minimum(np.maximum(floor, free), NEVER))
        while True:
            clear = np.where(free > self.opens[at], free + gap, free)
            start = np.maximum(np.maximum(floor, clear), self.lows[at])
            late = (start > self.highs[at]) & (at < len(self.highs) - 1)
            if not late.any():
                start = np.minimum(start, NEVER)
                return start, np.where(start < NEVER, start + self.lengths[at], NEVER)
            at = at + late
