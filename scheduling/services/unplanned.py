"""The solver's unplaced tasks as holds, in words of the trade's codes."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Area
from scheduling.services.holds import Hold
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.room_work import AFTER_HANDOVER
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Unplaced
from scheduling.solver.problem import Task

CONDITIONING_DAYS = 2
"""The 48 hours of warmth that a coat needs before it."""
SATURDAY = 5


def holds_of(inputs: PlanInputs, unplaced: Iterable[Unplaced]) -> list[Hold]:
    """Group unplaced tasks by house and area (each odd job by itself) and by reason.

    Tasks that only wait for others are counted with those of their area; an area in which all
    of them wait for another area's gets a hold of its own.
    """
    tasks = {task.id: task for task in inputs.problem.tasks}
    by_place: dict[tuple[str, str], dict[str, list[Task]]] = {}
    for row in unplaced:
        task = tasks[row.task]
        reasons = by_place.setdefault(_place(inputs, task), {})
        reasons.setdefault(_code(inputs, row, task), []).append(task)
    holds = []
    for reasons in by_place.values():
        waiting = len(reasons.pop("after_unplaced", [])) if len(reasons) > 1 else 0
        for code, members in reasons.items():
            holds.append(_hold(inputs, code, members, waiting))
    return holds


def heat_on_by(inputs: PlanInputs, house_id: str) -> date:
    """Return the last day to turn the heat on with a chance to hold the house's first promise.

    Counted back from that day: one weekday for each stage left before handover in the room with
    the most (a coat a day, the 24 hours of common practice), then the 48 hours of warmth before
    the first. Never before the day planned from.
    """
    zone = ZoneInfo(inputs.houses[house_id].zone)
    left: dict[str, set[str]] = {}
    for task in inputs.problem.tasks:
        stage = inputs.stages.get(task.id)
        if task.house == house_id and stage and stage.stage not in AFTER_HANDOVER:
            left.setdefault(task.room, set()).add(stage.stage)
    due = min(row.due for row in inputs.handovers.values() if row.house == house_id)
    day = (inputs.timeline.instant(due) - timedelta(seconds=1)).astimezone(zone).date()
    weekdays = max(map(len, left.values()), default=0)
    today = inputs.timeline.instant(inputs.problem.now).astimezone(zone).date()
    while weekdays and day > today:
        day -= timedelta(days=1)
        weekdays -= day.weekday() < SATURDAY
    return max(today, day - timedelta(days=CONDITIONING_DAYS))


def _code(inputs: PlanInputs, row: Unplaced, task: Task) -> str:
    """Return the solver's code, or what the air has to do with it: a task that has a place once
    the air is left aside is too cold or too hot."""
    if row.code != "no_open_time" or task.starts is None:
        return row.code
    alone = replace(task, starts=None, run=None, fixed=None)
    if construct(replace(inputs.problem, tasks=(alone,), waits=())).unplaced:
        return row.code
    stage, air = inputs.stages[task.id], inputs.airs[task.house]
    compound = stage.compound
    assert compound is not None, "only what hardens has its starts restricted"
    first = max(task.release, inputs.problem.now) // TICKS_PER_HOUR
    hours = air.temperature_c[first : inputs.timeline.horizon // TICKS_PER_HOUR]
    too_cold = (hours < compound.minimum_c).sum()
    return "too_cold" if too_cold >= (hours > compound.maximum_c).sum() else "too_hot"


def _place(inputs: PlanInputs, task: Task) -> tuple[str, str]:
    stage = inputs.stages.get(task.id)
    return task.house, str(stage.room.area_id) if stage else task.id


def _hold(inputs: PlanInputs, code: str, tasks: list[Task], waiting: int) -> Hold:
    stages = [inputs.stages[task.id] for task in tasks if task.id in inputs.stages]
    area: Area | None = stages[0].room.area if stages else None
    house_id = tasks[0].house
    return Hold(
        code,
        inputs.houses[house_id],
        area,
        stages=tuple(dict.fromkeys(stage.stage for stage in stages)),
        tasks=len(tasks) + waiting,
        job="" if stages else inputs.odd_jobs[tasks[0].id].name,
        heat_on_by=heat_on_by(inputs, house_id) if code == "too_cold" else None,
    )
