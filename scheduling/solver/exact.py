"""CP-SAT on some tasks of a draft, the others held where they are."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

from ortools.sat.python import cp_model

from scheduling.solver.budget import Effort
from scheduling.solver.compiled import Compiled
from scheduling.solver.constraints import RULES
from scheduling.solver.draft import FAR, Draft
from scheduling.solver.objective import minimise_cost, minimise_cost_then_finish
from scheduling.solver.variables import Variables, new_variables
from scheduling.solver.ways import EVERY

PRESOLVE_UP_TO = 100_000
"""Constraints above which presolve costs more than it brings, the hint being a whole plan."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A draft with the free tasks where CP-SAT wants them, and the least cost (see Score)
    that any plan has whose held tasks stay; None where it came to nothing."""

    draft: Draft | None = None
    bound: int | None = None


def least_cost(
    draft: Draft, free: Sequence[int], effort: Effort, report: Callable[[Draft], object]
) -> Answer:
    """Look for a smaller cost by moving the free tasks, and for a bound on it.

    ``report`` is called with every draft on the way, each placed as ``_decode`` does.
    """
    return _solve(draft, free, effort, minimise_cost, report)


def earlier_finish(draft: Draft, free: Sequence[int], effort: Effort) -> Draft | None:
    """Look for a smaller cost, then for an earlier finish, by moving the free tasks."""
    return (_solve(draft, free, effort, minimise_cost_then_finish)).draft


class _OnTheWay(cp_model.CpSolverSolutionCallback):
    """Hands on every plan that CP-SAT finds while it is still looking for a better one."""

    def __init__(self, variables: Variables, report: Callable[[Draft], object]) -> None:
        super().__init__()
        self._variables, self._report = variables, report

    def on_solution_callback(self) -> None:
        draft = _decode(self._variables, self)
        if draft is not None:
            self._report(draft)


def _solve(
    draft: Draft,
    free: Sequence[int],
    effort: Effort,
    minimise: Callable[[Variables], None],
    report: Callable[[Draft], object] | None = None,
) -> Answer:
    variables = new_variables(draft, free)
    if variables is None:
        return Answer()
    for rule in RULES:
        rule(variables)
    minimise(variables)
    solver = _solver(effort, presolve=len(variables.model.proto.constraints) <= PRESOLVE_UP_TO)
    status = solver.solve(variables.model, _OnTheWay(variables, report) if report else None)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Answer()
    return Answer(_decode(variables, solver), round(solver.best_objective_bound))


def _solver(effort: Effort, *, presolve: bool) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = effort.workers
    solver.parameters.random_seed = effort.seed
    solver.parameters.cp_model_presolve = presolve
    if effort.seconds is not None:
        solver.parameters.max_time_in_seconds = effort.seconds
    if effort.ticks is not None:
        solver.parameters.max_deterministic_time = effort.ticks
    return solver


def _decode(
    variables: Variables, solver: cp_model.CpSolver | cp_model.CpSolverSolutionCallback
) -> Draft | None:
    """Return the plan CP-SAT found, each task at the earliest place its crew has left for it.

    Placing anew never starts a task later than CP-SAT did, and takes nothing on trust. Where
    maximum lags tie tasks together, equipment stays behind with what a task leaves, or an earlier
    window costs extra, all stay where CP-SAT has them.
    """
    draft = variables.base.copy()
    compiled = variables.compiled
    stay = compiled.priced or any(compiled.chained[task] for task in variables.slots)
    stay = stay or any(one.holds for slot in variables.slots.values() for one in slot.exits)
    for task in sorted(variables.slots, key=lambda t: solver.value(variables.slots[t].start)):
        options = variables.slots[task].options
        crew = next(o.crew for o in options if solver.boolean_value(o.chosen))
        lefts = zip(variables.slots[task].exits, variables.slots[task].lefts, strict=False)
        way = next((one.way for one, left in lefts if solver.boolean_value(left)), EVERY)
        bounds = draft.bounds(task).left(way)
        if stay:
            start = solver.value(variables.slots[task].start)
            bounds = bounds._replace(floor=max(bounds.floor, start))
        place = draft.earliest(task, crew, bounds, FAR)
        if place is None:
            return None
        draft.put(task, place)
    return draft


def gaps_are_exact(compiled: Compiled) -> bool:
    """Return whether asking for the way between any two tasks of a crew excludes no plan.

    That is so where no detour is shorter than the way itself and no break shorter than a way.
    """
    problem, gaps = compiled.problem, compiled.gaps
    houses = range(len(gaps))
    around = problem.setup_ticks + problem.washup_ticks
    longest = max((gap for row in gaps for gap in row), default=0) - around
    breaks = (two.start - one.end for crew in problem.crews for one, two in pairwise(crew.windows))
    return min(breaks, default=longest) >= longest and all(
        gaps[a][c] <= gaps[a][b] + 1 + gaps[b][c] for a, b, c in product(houses, repeat=3)
    )
