"""The plans found so far of which none is better than another on change and on lateness."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from random import Random

from scheduling.solver.construct import outcome_of
from scheduling.solver.draft import Draft
from scheduling.solver.homes import Homes, Size
from scheduling.solver.incumbent import REPORT_EVERY_SECONDS
from scheduling.solver.outcome import Improvement, Outcome
from scheduling.solver.tally import key_of

MOST = 3
"""Plans shown at most: both ends of the trade-off and the one in the middle."""

WORTHWHILE_MINUTES = 60
"""Weighted minutes of lateness that a plan must save to be shown beside one that changes less.
Promises are for a day, and a crew's own pace is not known to the hour: nobody would move visits
for less, unless nothing at all is late any more."""

Report = Callable[[tuple[Outcome, ...]], None]


@dataclass(frozen=True, slots=True)
class _Held:
    """A draft with its worth. broken: tasks without a place and fixed ones that come too early."""

    broken: tuple[int, int]
    size: Size
    late: int
    draft: Draft
    step: Improvement

    def as_good_as(self, other: "_Held") -> bool:
        if self.broken != other.broken:
            return self.broken < other.broken
        return self.size <= other.size and self.late <= other.late


def to_show(latenesses: Sequence[int]) -> list[int]:
    """Return which plans to show of some that rise in change and fall in lateness (weighted
    minutes): the first, the first that is as good as the last, and one in the middle, as far as
    each is worth its changes."""
    worthwhile = [0]
    for number, late in enumerate(latenesses):
        if _worthwhile(latenesses[worthwhile[-1]], late):
            worthwhile.append(number)
    count = len(worthwhile)
    return worthwhile if count <= MOST else [worthwhile[n] for n in (0, count // 2, count - 1)]


def _worthwhile(late: int, less_late: int) -> bool:
    saved = late - less_late
    return saved >= WORTHWHILE_MINUTES or (saved > 0 and less_late == 0)


class Front:
    """Keeps what is offered and not dominated, and reports the plans to show at most every
    REPORT_EVERY_SECONDS."""

    def __init__(self, homes: Homes, stopwatch: Callable[[], float], report: Report) -> None:
        self.homes = homes
        self._stopwatch, self._report, self._reported = stopwatch, report, float("-inf")
        self._held: list[_Held] = []
        self._least: Size = (0, 0)

    def offer(self, draft: Draft, by: str) -> bool:
        """Keep a copy of the draft unless one held is as good on both; drop those it makes idle.

        by: names the step that found it.
        """
        key, now = key_of(draft), self._stopwatch()
        size = self.homes.size(draft)
        step = Improvement(round(now, 3), key.score, by)
        new = _Held(key[:2], size, key.score.lateness, draft, step)
        if any(held.as_good_as(new) for held in self._held):
            return False
        self._held = [held for held in self._held if not new.as_good_as(held)]
        self._held.append(replace(new, draft=draft.copy()))
        if now - self._reported >= REPORT_EVERY_SECONDS:
            self._reported = now
            self._report(self.shown())
        return True

    def prove_least(self, draft: Draft) -> None:
        """Note that no plan with as many tasks changes less than a draft."""
        self._least = self.homes.size(draft)

    @property
    def drafts(self) -> list[Draft]:
        """The drafts by rising change and falling lateness."""
        return [held.draft for held in sorted(self._held, key=lambda held: held.size)]

    def pick(self, rng: Random) -> Draft:
        """Return one of the drafts."""
        return rng.choice(self._held).draft

    def shown(self) -> tuple[Outcome, ...]:
        """Return up to MOST plans worth their changes, each with the step that found it."""
        held = sorted(self._held, key=lambda held: held.size)
        return tuple(
            replace(
                outcome_of(held[number].draft),
                history=(held[number].step,),
                least_change=held[number].size == self._least,
            )
            for number in to_show([one.late for one in held])
        )
