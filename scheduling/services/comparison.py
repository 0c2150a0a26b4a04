"""The plan beside two ways of doing without one, all three played through the same real air."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from scheduling.models import Plan
from scheduling.services.engine import solve
from scheduling.services.paid_time import unused_ticks
from scheduling.services.timeline import Timeline
from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import TICK_MINUTES, Placement, Problem, Wait, constant_lag
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.replay import replay
from scheduling.solver.serialize import problem_from_json

FIXED, NO_WAIT = "fixed:24h", "fixed:0"
FIXED_TICKS = 24 * 60 // TICK_MINUTES


@dataclass(frozen=True)
class Played:
    """What became of a plan in the real air.

    days: from the start of planning to the last task's end. idle_hours: paid and neither worked,
    set up, washed up nor travelled, until each crew's last task. late: handovers missed.
    late_days: weighted, summed over handovers. wet_arrivals: visits that found a coat not ready.
    """

    days: float
    idle_hours: float
    late: int
    late_days: float
    wet_arrivals: int


def play(problem: Problem, planned: Iterable[Placement], *, goes_on: bool = True) -> Played:
    """Play planned crew sequences through a problem's true waits.

    goes_on: whether a crew that finds a coat wet does later visits of its plan meanwhile.
    """
    played = replay(problem, tuple(planned), goes_on=goes_on)
    placements = played.placements
    score = score_of(problem, placements)
    last = max((place.end for place in placements), default=problem.now)
    return Played(
        days=(last - problem.now) * TICK_MINUTES / 60 / 24,
        idle_hours=unused_ticks(problem, placements) * TICK_MINUTES / 60,
        late=_late(problem, placements),
        late_days=score.lateness / 60 / 24,
        wet_arrivals=played.wet_arrivals,
    )


def compare_plan(*, plan: Plan, limits: Limits) -> dict[str, Played]:
    """Compare a stored plan, in the problem it was made for."""
    assert plan.run is not None, "only plans that came from a run are stored by the planner"
    problem = problem_from_json(plan.run.problem)
    timeline = Timeline(datetime.fromisoformat(problem.origin), problem.horizon)
    placements = tuple(
        Placement(
            task.key,
            str(task.crew.public_id),
            timeline.tick_before(task.starts_at),
            timeline.tick_before(task.ends_at),
        )
        for task in plan.tasks.select_related("crew")
    )
    return compare(problem, placements, limits)


def compare(problem: Problem, planned: Sequence[Placement], limits: Limits) -> dict[str, Played]:
    """Return what became of the plan, of one house after another, and of fixed 24-hour waits.

    Only tasks that the plan placed take part, so that all three do the same work. The two others
    plan each coat with 24 hours and meet the true waits only on site.
    """
    placed = {place.task for place in planned}
    truth = held_to_the_rules(_only(problem, placed))
    believed = with_fixed_waits(truth)
    serial = construct(one_house_at_a_time(believed))
    interleaved = solve(believed, limits).outcome
    return {
        "plan": play(truth, planned),
        "one_house_at_a_time": play(truth, serial.placements, goes_on=False),
        "fixed_24_hours": play(truth, interleaved.placements),
    }


def with_fixed_waits(problem: Problem) -> Problem:
    """Return a problem in which every coat is taken to be ready after 24 hours."""
    pairs = dict.fromkeys(
        (wait.before, wait.after, wait.reason == "order") for wait in problem.waits
    )
    waits = tuple(
        Wait(before, after, NO_WAIT if order else FIXED, "order" if order else "rule")
        for before, after, order in pairs
    )
    tasks = tuple(
        replace(
            task,
            wet_curve=FIXED if task.wet_curve else None,
            done_curve=FIXED if task.done_curve else None,
        )
        for task in problem.tasks
    )
    curves = {FIXED: constant_lag(FIXED_TICKS), NO_WAIT: constant_lag(0)}
    return replace(problem, tasks=tasks, waits=waits, curves=curves)


def one_house_at_a_time(problem: Problem) -> Problem:
    """Return a problem in which each crew takes whole houses and ends one before the next.

    Houses go by due date to the crew that would be through soonest; work that this crew has no
    skill for is left to any crew that has it.
    """
    crew_of = _houses_to_crews(problem)
    skills = {crew.id: crew.skills for crew in problem.crews}
    tasks = tuple(
        replace(task, crews=(crew_of[task.house],))
        if task.skills <= skills[crew_of[task.house]]
        else task
        for task in problem.tasks
    )
    followed = {wait.before for wait in problem.waits}
    waiting = {wait.after for wait in problem.waits}
    last_house: dict[str, str] = {}
    extra = []
    for house, crew in crew_of.items():
        if before := last_house.get(crew):
            extra += [
                Wait(a.id, b.id, NO_WAIT, "order")
                for a in tasks
                if a.house == before and a.id not in followed
                for b in tasks
                if b.house == house and b.id not in waiting
            ]
        last_house[crew] = house
    return replace(
        problem,
        tasks=tasks,
        waits=(*problem.waits, *extra),
        curves={**problem.curves, NO_WAIT: constant_lag(0)},
    )


def _houses_to_crews(problem: Problem) -> dict[str, str]:
    """Return the crew of each house, houses in order of their due dates."""
    due: dict[str, int] = {}
    for handover in problem.handovers:
        due[handover.house] = min(due.get(handover.house, handover.due), handover.due)
    minutes: dict[str, int] = {}
    for task in problem.tasks:
        minutes[task.house] = minutes.get(task.house, 0) + task.person_minutes
    paid = {
        crew.id: sum((window.end - window.start) * window.heads for window in crew.windows)
        for crew in problem.crews
        if crew.windows
    }
    load: dict[str, float] = dict.fromkeys(paid, 0.0)
    chosen = {}
    for house in sorted(minutes, key=lambda name: (due.get(name, problem.horizon), name)):
        crew = min(load, key=lambda name: (load[name] + minutes[house] / paid[name], name))
        load[crew] += minutes[house] / paid[crew]
        chosen[house] = crew
    return chosen


def _late(problem: Problem, placements: Iterable[Placement]) -> int:
    """Return how many handovers are missed, each scored alone."""
    placed = tuple(placements)
    return sum(
        score_of(replace(problem, handovers=(handover,)), placed).lateness > 0
        for handover in problem.handovers
    )


def _only(problem: Problem, names: set[str]) -> Problem:
    return replace(
        problem,
        tasks=tuple(task for task in problem.tasks if task.id in names),
        waits=tuple(w for w in problem.waits if w.before in names and w.after in names),
    )
