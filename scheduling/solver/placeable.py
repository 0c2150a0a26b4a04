"""Whether a plan of all tasks is found: looked for with time to spare after the horizon.

A plan in which the spare time takes whatever finds no place is always at hand, so the search of
any plan serves: no task ends after the horizon where nothing is late.
"""

from dataclasses import replace

from scheduling.solver.budget import Budget
from scheduling.solver.construct import construct
from scheduling.solver.impossible import proved_impossible
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import Crew, Handover, Problem, Span, Task, Window
from scheduling.solver.solve import solve

ROUNDS = 300
"""Rounds of work for one search."""


def plan_is_found(problem: Problem, budget: Budget) -> bool:
    """Return whether all tasks find a place; no, too, where the budget has no search left.

    True is certain. False is proved where a task has no place even alone, or CP-SAT has gone
    through all there is; otherwise it only says that none was found.
    """
    first = construct(problem)
    if not first.unplaced:
        return True
    if proved_impossible(problem, first) or budget.used() >= 1:
        return False
    budget.spend(ROUNDS)
    limits = Limits(seconds=None, work=ROUNDS, workers=1, seed=budget.limits.seed)
    outcome = solve(with_time_to_spare(problem), limits, budget.stopwatch)
    return not outcome.unplaced and outcome.score.cost == 0


def with_time_to_spare(problem: Problem) -> Problem:
    """Return the problem with time for all tasks after its horizon, at which each is due."""
    spare = _spare(problem)
    return replace(
        problem,
        horizon=spare.end,
        crews=tuple(_there_in(spare, crew) for crew in problem.crews),
        houses=tuple(replace(h, access=_or_in(spare, h.access)) for h in problem.houses),
        tasks=tuple(
            replace(
                task,
                open=_or_in(spare, task.open),
                starts=_or_in(spare, task.starts),
                handover=None if task.fixed else task.id,
                done_curve=None,
            )
            for task in problem.tasks
        ),
        handovers=tuple(
            Handover(task.id, task.house, problem.horizon)
            for task in problem.tasks
            if not task.fixed
        ),
        worthwhile_ticks=0,
        another_crew=0,
    )


def _spare(problem: Problem) -> Span:
    """Return ticks after everything else, enough for the tasks one by one and the waits."""
    windows = [window.end for crew in problem.crews for window in crew.windows]
    spans = [house.access for house in problem.houses]
    spans += [found for task in problem.tasks for found in (task.open, task.starts)]
    ends = [span.end for found in spans for span in found or ()]
    curves = problem.curves.values()
    floors = [floor for curve in curves for floor in curve.floors]
    start = max([problem.horizon, *windows, *ends, *floors]) + 1
    longest = max((lag for curve in curves for lag in curve.lags), default=0)
    way = 2 * max(problem.travel.values(), default=0)
    between = max(0, longest) + way + problem.setup_ticks + problem.washup_ticks
    work = sum(map(_longest, problem.tasks))
    return Span(start, start + work + (len(problem.tasks) + 1) * (between + 1))


def _longest(task: Task) -> int:
    minutes = max([task.person_minutes, *(task.minutes_by_crew or {}).values()])
    return 2 * (minutes + task.batch_ticks) + 1


def _there_in(spare: Span, crew: Crew) -> Crew:
    day = max((window.day for window in crew.windows), default=0) + 1
    windows = [replace(window, price=0) for window in crew.windows]
    return replace(crew, windows=(*windows, Window(spare.start, spare.end, day)))


def _or_in(spare: Span, spans: tuple[Span, ...] | None) -> tuple[Span, ...] | None:
    return None if spans is None else (*spans, spare)
