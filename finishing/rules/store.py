"""What visits have taken out of a store since it was counted.

A count is of full packs, on the morning of its day before crews load. Packs that visits open from
that day on come out of it: those of their size first, then of what was counted longest ago. Never
more than there is: what else they opened came from where nobody counted. Days are counted from any
first day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from finishing.rules.packs import Packs


@dataclass(frozen=True, slots=True)
class Counted:
    """So many packs of a size were there on a day."""

    day: int
    pack_size: float
    packs: int

    @property
    def amount(self) -> float:
        return self.pack_size * self.packs


@dataclass(frozen=True, slots=True)
class Taken:
    """Packs that a visit opened on a day."""

    day: int
    packs: Packs


def taken_from(counts: Sequence[Counted], takings: Iterable[Taken]) -> list[float]:
    """Return how much of each count was taken since, from nothing to all of it.

    All of one thing, in its unit (kg, m, pieces).
    """
    left = [count.amount for count in counts]
    for taking in sorted(takings, key=lambda taking: taking.day):
        for pack in taking.packs:
            short = pack
            for number in _nearest(counts, pack, taking.day):
                part = min(left[number], short)
                left[number] -= part
                short -= part
    return [count.amount - rest for count, rest in zip(counts, left, strict=True)]


def _nearest(counts: Sequence[Counted], pack: float, day: int) -> list[int]:
    """Return which counts a pack opened on a day may come from, the likeliest first."""
    there = [number for number, count in enumerate(counts) if count.day <= day]
    return sorted(there, key=lambda number: (counts[number].pack_size != pack, counts[number].day))
