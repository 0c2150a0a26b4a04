"""Plans with the solver's child process, and believes only what verifies."""

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass

from scheduling.services.child import Child, ChildEnded
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import broken_rules


class EngineError(RuntimeError):
    """The first plan itself does not verify: a fault in the solver, never shown as a plan."""


@dataclass(frozen=True)
class Solved:
    """The best verified outcome; ``note`` says how the child ended where it was not by itself."""

    outcome: Outcome
    note: str = ""


def solve(
    problem: Problem,
    limits: Limits,
    on_better: Callable[[Outcome], None] = lambda _: None,
    should_stop: Callable[[], bool] = lambda: False,
    child: Child = Child(),  # noqa: B008 - frozen
) -> Solved:
    """Return the best verified plan within the limits, or at once when ``should_stop`` says so.

    The first plan is made and verified here; the child only improves on it, so that a crash, a
    kill, a memory or time limit leaves a plan all the same. What the child claims is a plan or
    nothing: that none exists is never taken from it.
    """
    best = construct(problem)
    if faults := broken_rules(problem, best):
        raise EngineError(f"the first plan breaks a rule: {faults[0]}")
    on_better(best)
    note = ""
    try:
        for better in child.outcomes(problem, limits, should_stop):
            if broken_rules(problem, better):
                note = "a plan of the solver did not verify and was dropped"
            elif (len(better.unplaced), better.score) <= (len(best.unplaced), best.score):
                best = better
                on_better(best)
    except ChildEnded as ended:
        note = f"{ended}; this is the best plan it had found"
    return Solved(best, note)


def solve_again(
    problem: Problem,
    changed: Sequence[Problem],
    placements: Sequence[Placement],
    limits: Limits,
    child: Child = Child(),  # noqa: B008 - frozen
) -> Generator[Outcome]:
    """Yield a plan of the problem under two seeds, then one of each changed problem, all verified.

    Raise ChildEnded where the child ends before the last, or says what is no plan.
    """
    answers = child.solved_again(problem, changed, placements, limits)
    for asked in (problem, problem, *changed):
        outcome = next(answers, None)
        if outcome is None or broken_rules(asked, outcome):
            raise ChildEnded("a plan of the solver did not verify")
        yield outcome
