"""One problem solved without a database, and what there is to say about the answer."""

from dataclasses import dataclass, replace
from enum import IntEnum
from time import monotonic

from scheduling.services.engine import solve
from scheduling.solver.construct import construct
from scheduling.solver.impossible import fixed_clashes, proved_impossible
from scheduling.solver.outcome import Improvement, Limits, Outcome, Unplaced, Violation
from scheduling.solver.problem import Problem
from scheduling.solver.release import broken_rules


class Verdict(IntEnum):
    """How it ended; the value is the exit status of ``solve_instance``."""

    PLANNED = 0
    IMPOSSIBLE = 3
    NOT_FOUND = 4


@dataclass(frozen=True)
class SolvedInstance:
    """An outcome with its proofs. ``seconds`` count from the call, the child's start included."""

    outcome: Outcome
    violations: list[Violation]
    impossible: tuple[Unplaced, ...]
    first_plan_seconds: float
    seconds: float
    note: str

    @property
    def verdict(self) -> Verdict:
        """Planned, proved impossible, or not found."""
        if self.impossible:
            return Verdict.IMPOSSIBLE
        return Verdict.NOT_FOUND if self.outcome.unplaced or self.violations else Verdict.PLANNED

    @property
    def gap(self) -> float:
        """The share of the cost that is not proved to be needed."""
        cost = self.outcome.score.cost
        return (cost - self.outcome.bound) / max(1, cost)


def solve_problem(*, problem: Problem, limits: Limits) -> SolvedInstance:
    """Solve a problem in the child process and check the answer and its claims once more.

    Where fixed tasks clash there is nothing to solve: the outcome is the plan that clashes.
    """
    began = monotonic()
    if clashes := fixed_clashes(problem):
        outcome = construct(problem)
        return SolvedInstance(outcome, broken_rules(problem, outcome), clashes, 0, 0, "")
    history: list[Improvement] = []

    def note_better(better: Outcome) -> None:
        if not history or better.score != history[-1].score:
            by = better.history[-1].by if better.history else "construct"
            history.append(Improvement(round(monotonic() - began, 3), better.score, by))

    solved = solve(problem, limits, on_better=note_better)
    return SolvedInstance(
        outcome=replace(solved.outcome, history=tuple(history)),
        violations=broken_rules(problem, solved.outcome),
        impossible=proved_impossible(problem, solved.outcome),
        first_plan_seconds=history[0].seconds,
        seconds=round(monotonic() - began, 3),
        note=solved.note,
    )
