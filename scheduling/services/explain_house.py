"""Why a house is late, what would cure it, and why its held work cannot be planned."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from finishing.models import Company, House
from scheduling.models import Plan
from scheduling.services.cure_changes import LateHouse, Tried, changes_for
from scheduling.services.inputs import PlanInputs, build_inputs
from scheduling.solver.conflict import Ground, conflict
from scheduling.solver.construct import construct
from scheduling.solver.cures import Cure, cures
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import TICK_MINUTES, Placement
from scheduling.solver.release import keep_what_holds


@dataclass(frozen=True)
class Explained:
    """What was found, as JSON for wording: codes and values.

    promises: the plan's late promises of the house with their chains. unchanged_minutes: how
    late the house is after solving again as things are; noise_minutes: what a gain had to
    exceed. cures: the best first. conflicts: per kind of work without a place, the rules.
    """

    promises: list[dict[str, Any]]
    unchanged_minutes: int
    noise_minutes: int
    cures: list[dict[str, Any]]
    conflicts: list[dict[str, Any]]


def explain_house(
    *,
    company: Company,
    house: House,
    plan: Plan,
    limits: Limits,
    stopwatch: Callable[[], float],
) -> Explained:
    """Explain a house of the working plan, as of the moment that the plan was made from.

    ``limits`` are for all solves together, shared out evenly.
    """
    now = plan.run.plan_from if plan.run else plan.created_at
    inputs = _inputs(company, now)
    key = str(house.public_id)
    late = [
        row for row in plan.handovers if row["house_id"] == key and (row["late_minutes"] or 0) > 0
    ]
    conflicts = list(_conflicts(inputs, key))
    if not late or key not in inputs.houses:
        return Explained(late, 0, 0, [], conflicts)
    case = LateHouse(company, inputs.houses[key], now, inputs, _placements(plan, inputs))
    tried = list(changes_for(case))
    found = cures(
        inputs.problem,
        case.placements,
        key,
        [row.change for row in tried],
        limits=_shared(limits, len(tried) + 2),
        stopwatch=stopwatch,
    )
    return Explained(
        late,
        found.unchanged * TICK_MINUTES,
        found.noise * TICK_MINUTES,
        [_cure_json(cure, tried) for cure in found.found],
        conflicts,
    )


def _inputs(company: Company, now: datetime) -> PlanInputs:
    inputs = build_inputs(company=company, now=now)
    inputs.problem = keep_what_holds(inputs.problem, inputs.pinned).problem
    return inputs


def _placements(plan: Plan, inputs: PlanInputs) -> list[Placement]:
    tick = inputs.timeline.tick_after
    return [
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in plan.tasks.select_related("crew")
    ]


def _shared(limits: Limits, solves: int) -> Limits:
    return Limits(
        seconds=limits.seconds / solves if limits.seconds else None,
        work=limits.work // solves if limits.work is not None else None,
        workers=limits.workers,
        seed=limits.seed,
    )


def _cure_json(cure: Cure, tried: Sequence[Tried]) -> dict[str, Any]:
    values = next(row.values for row in tried if row.change is cure.change)
    return {
        "code": cure.change.code,
        **values,
        "price": cure.change.price,
        "days_saved": cure.days_saved,
        "saved_minutes": cure.saved * TICK_MINUTES,
        "left_minutes": cure.left * TICK_MINUTES,
    }


def _conflicts(inputs: PlanInputs, house: str) -> list[dict[str, Any]]:
    """Return one conflict for each reason and stage of the house's work without a place."""
    tasks = {task.id: task for task in inputs.problem.tasks}
    first: dict[tuple[str, str], str] = {}
    for item in construct(inputs.problem).unplaced:
        if tasks[item.task].house == house and item.code != "after_unplaced":
            first.setdefault((item.code, item.task.split(":")[1]), item.task)
    return [
        {
            **_named(inputs, task),
            "grounds": [_ground_json(inputs, ground) for ground in conflict(inputs.problem, task)],
        }
        for task in first.values()
    ]


def _ground_json(inputs: PlanInputs, ground: Ground) -> dict[str, str]:
    named = _named(inputs, ground.subject)
    other = _named(inputs, ground.other)
    return {"code": ground.code, **named, "other": other["task"], "other_room": other["room"]}


def _named(inputs: PlanInputs, key: str) -> dict[str, str]:
    """Return a task's key and its room or job; the house's name for a house."""
    stage, job = inputs.stages.get(key), inputs.odd_jobs.get(key)
    if stage:
        return {"task": key, "room": stage.room.name}
    if job:
        return {"task": key, "room": job.name}
    house = inputs.houses.get(key)
    return {"task": "", "room": house.name if house else ""}
