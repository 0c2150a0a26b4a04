"""The best draft so far, and the story of how it was reached."""

from collections.abc import Callable
from dataclasses import replace

from scheduling.solver.construct import outcome_of
from scheduling.solver.draft import Draft
from scheduling.solver.outcome import Improvement, Outcome
from scheduling.solver.tally import key_of

REPORT_EVERY_SECONDS = 0.2
"""Better plans come by the hundred at first: writing each of them down would hold up the search."""


class Incumbent:
    """Keeps the best draft offered to it and reports the first plan, then better ones at most
    every REPORT_EVERY_SECONDS; the last is the answer of the solve."""

    def __init__(
        self,
        draft: Draft,
        bound: int,
        stopwatch: Callable[[], float],
        report: Callable[[Outcome], None],
    ) -> None:
        self.draft, self.key, self.bound = draft.copy(), key_of(draft), bound
        self.stopwatch, self._report = stopwatch, report
        self._history: list[Improvement] = []
        self._reported = float("-inf")
        self._note("construct")

    def offer(self, draft: Draft, by: str) -> bool:
        """Keep a copy of the draft if it is better; ``by`` names the step that found it."""
        key = key_of(draft)
        if key >= self.key:
            return False
        self.draft, self.key = draft.copy(), key
        self._note(by)
        return True

    @property
    def proved(self) -> bool:
        """Whether no plan can cost less."""
        return self.key.unplaced == 0 and self.key.score.cost <= self.bound

    def outcome(self) -> Outcome:
        """Return the best plan as an Outcome, with its history."""
        return replace(outcome_of(self.draft, self.bound), history=tuple(self._history))

    def _note(self, by: str) -> None:
        now = self.stopwatch()
        self._history.append(Improvement(round(now, 3), self.key.score, by))
        if now - self._reported >= REPORT_EVERY_SECONDS:
            self._reported = now
            self._report(self.outcome())
