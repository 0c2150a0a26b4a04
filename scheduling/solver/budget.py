"""How much of its time or work a solve has used."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from scheduling.solver.outcome import Limits

SECOND_ROUNDS = 500
"""Rounds that count as one second of CP-SAT; on a plain machine they take about as long."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard CP-SAT is to try, in seconds or in its own deterministic ``ticks``."""

    workers: int
    seed: int
    seconds: float | None = None
    ticks: float | None = None


class Budget:
    """Counts ``rounds`` of work, or watches the seconds where no amount of work is given.

    With neither, nothing may be spent: the first plan is the answer.
    """

    def __init__(self, limits: Limits, stopwatch: Callable[[], float]) -> None:
        self.limits, self.stopwatch = limits, stopwatch
        self._began, self.rounds = stopwatch(), 0

    @property
    def repeatable(self) -> bool:
        """Whether the same plan must come out on every machine."""
        return self.limits.work is not None

    def used(self) -> float:
        """Return the share used so far; 1 or more when there is nothing left."""
        if self.limits.work is not None:
            return self.rounds / self.limits.work if self.limits.work > 0 else 1.0
        if not self.limits.seconds:
            return 1.0
        span = self.limits.seconds - self._began
        return (self.stopwatch() - self._began) / span if span > 0 else 1.0

    def spend(self, rounds: int = 1) -> None:
        """Count rounds of work."""
        self.rounds += rounds

    def part(self, share: float) -> "Budget":
        """Return a budget of its own for what is left up to a share of this one."""
        limits = self.limits
        if limits.work is not None:
            left = max(0, round(share * limits.work) - self.rounds)
            return Budget(replace(limits, work=left), self.stopwatch)
        until = self._began + share * max(0.0, (limits.seconds or 0.0) - self._began)
        return Budget(replace(limits, seconds=until), self.stopwatch)

    def effort(self, share: float, most: float = float("inf")) -> Effort:
        """Return a share of what is left for one call of CP-SAT, at most so many seconds.

        Counted in rounds, a second is SECOND_ROUNDS of them and one unit of CP-SAT's own
        deterministic time.
        """
        seed = self.limits.seed
        if self.limits.work is not None:
            left = max(0, self.limits.work - self.rounds) / SECOND_ROUNDS
            return Effort(1, seed, ticks=min(share * left, most))
        left = max(0.0, (self.limits.seconds or 0.0) - self.stopwatch())
        return Effort(self.limits.workers, seed, seconds=min(share * left, most))
