"""The recipe: a first plan by rule, then better ones for as long as the limits allow."""

from collections.abc import Callable

from scheduling.solver.bound import cost_bound
from scheduling.solver.budget import Budget
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import first_draft
from scheduling.solver.improve import improve
from scheduling.solver.incumbent import Incumbent
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Problem


def _ignore(_: Outcome) -> None:
    return None


def solve(
    problem: Problem,
    limits: Limits,
    stopwatch: Callable[[], float],
    report: Callable[[Outcome], None] = _ignore,
) -> Outcome:
    """Return the best plan found within the limits; what cannot be planned is named in it.

    ``stopwatch`` returns seconds since the start of the solve. ``report`` is called with the
    first plan and with every better one.
    """
    budget = Budget(limits, stopwatch)
    compiled = compile_problem(problem)
    incumbent = Incumbent(first_draft(compiled), cost_bound(compiled), stopwatch, report)
    if budget.used() < 1 and not incumbent.proved:
        # Imported when it is needed: numpy takes longer than a short search.
        from scheduling.solver.capacity_bound import capacity_bound  # noqa: PLC0415

        incumbent.bound = max(incumbent.bound, capacity_bound(compiled))
    improve(incumbent, budget)
    return incumbent.outcome()
