"""The solver's answer becomes rows: a plan, its tasks, holds and handovers."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from finishing.models import Company
from finishing.rules.readiness import ODD_JOB
from scheduling.models import CompanyPlans, Plan, PlannedTask, PlanRun
from scheduling.services.followed import may_be_followed
from scheduling.services.holds import Hold
from scheduling.services.house_air import assumed_from
from scheduling.services.inputs import PlanInputs
from scheduling.services.task_details import task_details
from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.explain import binding_reasons
from scheduling.solver.outcome import Outcome, Unplaced
from scheduling.solver.problem import TICK_MINUTES, Placement, Task

CONDITIONING_DAYS = 2
"""The 48 hours of warmth that a coat needs before it."""


@transaction.atomic
def store_plan(
    *, company: Company, run: PlanRun, inputs: PlanInputs, outcome: Outcome, now: datetime
) -> Plan:
    """Store a verified outcome as the company's working plan."""
    plan = Plan(
        company=company,
        created_at=now,
        run=run,
        lateness_minutes=outcome.score.lateness,
        visits=outcome.score.visits,
        idle_minutes=outcome.score.idle,
        status=outcome.status,
        air_assumed_from={
            house: assumed_from(air, inputs.timeline).isoformat()
            for house, air in inputs.airs.items()
        },
        holds=[hold.as_json() for hold in [*inputs.holds, *holds_of(inputs, outcome.unplaced)]],
        handovers=list(_handovers(inputs, outcome)),
    )
    plan.full_clean()
    plan.save()
    PlannedTask.objects.bulk_create(_task_rows(plan, inputs, outcome))
    CompanyPlans.objects.update_or_create(company=company, defaults={"working": plan})
    return plan


def holds_of(inputs: PlanInputs, unplaced: Iterable[Unplaced]) -> list[Hold]:
    """Group the solver's unplaced tasks by house, area and reason.

    A coat without an open time, whose starts the air restricts, is too cold (or too hot): the
    hold says by when the heat must be on.
    """
    tasks = {task.id: task for task in inputs.problem.tasks}
    groups: dict[tuple[str, str, int], list[Unplaced]] = {}
    for row in unplaced:
        code = row.code
        if code == "no_open_time" and tasks[row.task].starts is not None:
            code = "too_cold"
        stage = inputs.stages.get(row.task)
        area_id = stage.room.area_id if stage else 0
        groups.setdefault((code, tasks[row.task].house, area_id), []).append(row)
    return [
        _hold(inputs, code, house, [tasks[row.task] for row in rows])
        for (code, house, _), rows in groups.items()
        if code != "after_unplaced"
    ]


def _hold(inputs: PlanInputs, code: str, house_id: str, tasks: list[Task]) -> Hold:
    stages = [inputs.stages[task.id] for task in tasks if task.id in inputs.stages]
    house = inputs.houses[house_id]
    job = next((inputs.odd_jobs[task.id].name for task in tasks if task.id in inputs.odd_jobs), "")
    return Hold(
        code,
        house,
        stages[0].room.area if stages else None,
        stages=tuple(dict.fromkeys(stage.stage for stage in stages)),
        tasks=len(tasks),
        job=job,
        heat_on_by=heat_on_by(inputs, house_id, tasks) if code == "too_cold" else None,
    )


def heat_on_by(inputs: PlanInputs, house_id: str, cold: list[Task]) -> date:
    """Return the last day to turn the heat on with a chance to hold the house's first promise.

    Counted back from that day: one working day for each stage left in the room with the most
    (a coat a day, the 24 hours of common practice), then the 48 hours of warmth before the
    first. Never before the day planned from.
    """
    house = inputs.houses[house_id]
    zone = ZoneInfo(house.zone)
    first = min(task.id for task in cold)
    room = inputs.stages[first].room
    left = sum(1 for stage in inputs.stages.values() if stage.room == room)
    due = min(
        (row.due for row in inputs.problem.handovers if row.house == house_id),
        default=inputs.problem.horizon,
    )
    day = (inputs.timeline.instant(due) - timedelta(seconds=1)).astimezone(zone).date()
    today = inputs.timeline.instant(inputs.problem.now).astimezone(zone).date()
    while left:
        day -= timedelta(days=1)
        left -= day.weekday() < 5
    return max(today, day - timedelta(days=CONDITIONING_DAYS))


def _task_rows(plan: Plan, inputs: PlanInputs, outcome: Outcome) -> list[PlannedTask]:
    reasons = binding_reasons(inputs.problem, outcome.placements)
    tasks = {task.id: task for task in inputs.problem.tasks}
    return [
        _task_row(
            plan,
            inputs,
            place,
            tasks[place.task],
            task_details(inputs, place, tasks[place.task], reasons),
        )
        for place in sorted(outcome.placements, key=lambda place: (place.start, place.task))
    ]


def _task_row(
    plan: Plan, inputs: PlanInputs, place: Placement, task: Task, details: dict[str, Any]
) -> PlannedTask:
    stage = inputs.stages.get(place.task)
    followed = may_be_followed(inputs.problem, place, task)
    return PlannedTask(
        company_id=plan.company_id,
        plan=plan,
        key=place.task,
        crew=inputs.crews[place.crew],
        house=inputs.houses[task.house],
        area=stage.room.area if stage else None,
        stage=stage.stage if stage else ODD_JOB,
        starts_at=inputs.timeline.instant(place.start),
        ends_at=inputs.timeline.instant(place.end),
        ready_at=inputs.timeline.instant(followed[0]) if followed else None,
        details=details,
    )


def _handovers(inputs: PlanInputs, outcome: Outcome) -> Iterable[dict[str, Any]]:
    placed = {place.task: place for place in outcome.placements}
    finishes = handover_finishes(inputs.problem, placed)
    missing = {task.handover for task in inputs.problem.tasks if task.id not in placed}
    for handover in inputs.problem.handovers:
        house = inputs.houses[handover.house]
        met = None if handover.id in missing else finishes.get(handover.id)
        yield {
            "house": house.name,
            "house_id": handover.house,
            "areas": [area.name for area in inputs.areas_due[handover.id]],
            "due_on": handover.id.rpartition(":")[2],
            "met_at": None if met is None else inputs.timeline.instant(met).isoformat(),
            "weight": handover.weight,
            "late_minutes": 0 if met is None else max(0, met - handover.due) * TICK_MINUTES,
        }
