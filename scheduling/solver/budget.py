"""How much of its time or work a solve has used."""

from collections.abc import Callable

from scheduling.solver.outcome import Limits


class Budget:
    """Counts rounds of work, or watches the seconds where no amount of work is given.

    With neither, nothing may be spent: the first plan is the answer.
    """

    def __init__(self, limits: Limits, stopwatch: Callable[[], float]) -> None:
        self.limits, self._stopwatch = limits, stopwatch
        self._began, self._rounds = stopwatch(), 0

    @property
    def repeatable(self) -> bool:
        """Whether the same plan must come out on every machine."""
        return self.limits.work is not None

    def used(self) -> float:
        """Return the share used so far; 1 or more when there is nothing left."""
        if self.limits.work is not None:
            return self._rounds / self.limits.work if self.limits.work > 0 else 1.0
        if not self.limits.seconds:
            return 1.0
        span = self.limits.seconds - self._began
        return (self._stopwatch() - self._began) / span if span > 0 else 1.0

    def spend(self, rounds: int = 1) -> None:
        """Count rounds of work."""
        self._rounds += rounds

    def rounds_left(self) -> int:
        """Return the rounds left of a given amount of work."""
        return max(0, (self.limits.work or 0) - self._rounds)

    def seconds_left(self) -> float:
        """Return the seconds left of a given time."""
        return max(0.0, (self.limits.seconds or 0.0) - self._stopwatch())
