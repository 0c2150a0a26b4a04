"""Three solvers side by side on the same instances with the same seconds: by one rule, by a
plain CP-SAT model, and by the engine; and how quick the engine is."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from statistics import median

from scheduling.bench.plain_model import PlainModel
from scheduling.bench.towns import town
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import construct, due_and_tail, in_order, outcome_of, place
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Limits, Outcome, Status
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.solve import solve
from scheduling.solver.verify import verify

Clock = Callable[[], float]

PLAIN_UP_TO = 300
"""Tasks up to which the plain model can be built at all in the time."""


@dataclass(frozen=True, slots=True)
class Case:
    """A kind of instance: so many tasks and crews, due dates so tight, solved so long; ``able``
    is how many of the crews may do a task, None for all."""

    tasks: int
    crews: int
    pressure: float
    seconds: float
    able: int | None = None


CASES = (Case(64, 5, 1.05, 15), Case(200, 8, 1.0, 15, able=3), Case(2500, 40, 0.83, 60))
GROWTH = (
    Case(100, 5, 1.1, 15),
    Case(200, 8, 1.1, 15),
    Case(500, 14, 1.0, 30),
    Case(1000, 22, 0.9, 60),
    Case(2500, 40, 0.83, 60),
)


@dataclass(frozen=True, slots=True)
class Result:
    """One instance: lateness in weighted minutes by each way, and seconds. ``plain`` None where
    it was not asked; ``late`` is the share of houses late under the rule."""

    greedy: int
    plain: int | None
    ours: int
    proved: bool
    late: float
    first_seconds: float
    near_seconds: float

    @property
    def to_greedy(self) -> float:
        return self.ours / max(1, self.greedy)

    @property
    def plain_to_greedy(self) -> float | None:
        return None if self.plain is None else self.plain / max(1, self.greedy)

    @property
    def to_plain(self) -> float | None:
        return None if self.plain is None else self.ours / max(1, self.plain)


def measured(case: Case, seed: int, workers: int, clock: Clock, with_plain: bool) -> Result:
    """Return what each way makes of one instance; every plan is verified."""
    problem = town(
        tasks=case.tasks, crews=case.crews, seed=seed, pressure=case.pressure, able=case.able
    )
    greedy = greedy_plan(problem)
    ours = timed(problem, Limits(case.seconds, workers=workers, seed=seed), clock)
    plain = None
    if with_plain and case.tasks <= PLAIN_UP_TO:
        hint = {placement.task: placement for placement in greedy.placements}
        plan, _ = PlainModel(problem, hint).solve(case.seconds, workers)
        plain = _verified(problem, plan) if plan else greedy.score.lateness
    return Result(
        greedy.score.lateness,
        plain,
        ours.score.lateness,
        ours.status is Status.OPTIMAL,
        late_share(problem, greedy),
        first_plan_seconds(problem, clock),
        near_seconds(ours),
    )


def _verified(problem: Problem, plan: tuple[Placement, ...]) -> int:
    """Return the lateness of a plan of another solver, which must keep the rules as well."""
    outcome = Outcome(Status.FEASIBLE, plan, score_of(problem, plan))
    if faults := verify(problem, outcome):
        raise AssertionError(f"the plain model's plan breaks {len(faults)} rules: {faults[0]}")
    return outcome.score.lateness


def greedy_plan(problem: Problem) -> Outcome:
    """Return the plan of one rule: earliest due date first, each task where it ends first."""
    compiled = compile_problem(problem)
    due, _ = due_and_tail(compiled)
    return outcome_of(place(compiled, in_order(compiled, lambda task: due[task])))


def timed(problem: Problem, limits: Limits, clock: Clock) -> Outcome:
    """Return the engine's verified outcome, its history in seconds from the call."""
    began = clock()
    outcome = solve(problem, limits, lambda: clock() - began)
    if faults := verify(problem, outcome):
        raise AssertionError(f"a plan breaks {len(faults)} rules, first {faults[0]}")
    return outcome


def first_plan_seconds(problem: Problem, clock: Clock) -> float:
    """Return the seconds from the call to a first plan that is verified."""
    began = clock()
    if verify(problem, construct(problem)):
        raise AssertionError("the first plan does not verify")
    return clock() - began


def late_share(problem: Problem, outcome: Outcome) -> float:
    """Return the share of handovers after their due tick."""
    ends = {placement.task: placement.end for placement in outcome.placements}
    late = {
        handover.id
        for handover in problem.handovers
        for task in problem.tasks
        if task.handover == handover.id and ends[task.id] > handover.due
    }
    return len(late) / len(problem.handovers)


def near_seconds(outcome: Outcome) -> float:
    """Return the seconds to a lateness within 5 % of the final one."""
    limit = outcome.score.lateness * 1.05
    return next(step.seconds for step in outcome.history if step.score.lateness <= limit)


def row(case: Case, results: list[Result]) -> str:
    """Return one line of the table: medians of the results, ratios side by side."""
    cells = [
        f"{case.tasks:>5} / {case.crews:<3}{case.seconds:>5.0f} s",
        f"{median(result.late for result in results):>5.0%}",
        f"{median(result.to_greedy for result in results):>7.3f}",
        _ratio((result.plain_to_greedy for result in results), 12),
        _ratio((result.to_plain for result in results), 7),
        f"{sum(result.proved for result in results)} of {len(results)}",
        f"{median(result.first_seconds for result in results):>6.2f} s",
        f"{median(result.near_seconds for result in results):>6.1f} s",
    ]
    return "  ".join(cells)


def _ratio(ratios: Iterable[float | None], width: int) -> str:
    known = [ratio for ratio in ratios if ratio is not None]
    return f"{median(known):>{width}.3f}" if known else f"{'-':>{width}}"


HEADER = "tasks/crews   time   late  /greedy  plain/greedy  /plain  proved    first      5 %"
