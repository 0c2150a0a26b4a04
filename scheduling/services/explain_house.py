"""Why a house is late, what would cure it, and why its held work cannot be planned."""

from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from finishing.models import Company, House
from scheduling.models import Plan
from scheduling.services.child import Child, ChildEnded
from scheduling.services.cure_changes import LateHouse, Tried, changes_for
from scheduling.services.engine import solve_again
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.construct import construct
from scheduling.solver.cures import Cure, cures
from scheduling.solver.loosen import Ground
from scheduling.solver.outcome import Limits
from scheduling.solver.problem import TICK_MINUTES, Placement
from scheduling.solver.release import keep_what_holds


@dataclass(frozen=True)
class WhatHelps:
    """What would make a house less late, the best first, and how late it is (in minutes) after
    solving again as things are; ``failure`` says why that could not be worked out."""

    unchanged_minutes: int = 0
    noise_minutes: int = 0
    cures: list[dict[str, Any]] = field(default_factory=list)
    failure: str = ""


@dataclass(frozen=True)
class Explained:
    """What was found, as JSON for wording: codes and values.

    promises: the plan's late promises of the house with their chains. conflicts: per kind of
    work without a place, the rules.
    """

    promises: list[dict[str, Any]]
    what_helps: WhatHelps
    conflicts: list[dict[str, Any]]


def explain_house(
    *,
    company: Company,
    house: House,
    plan: Plan,
    limits: Limits,
    child: Child = Child(),  # noqa: B008 - frozen
) -> Explained:
    """Explain a house of the working plan, as of the moment that the plan was made from.

    ``limits`` are for all cures together, and for all conflicts.
    """
    now = plan.run.plan_from if plan.run else plan.created_at
    inputs = _inputs(company, now)
    key = str(house.public_id)
    late = [
        row for row in plan.handovers if row["house_id"] == key and (row["late_minutes"] or 0) > 0
    ]
    placements, found = _placements(plan, inputs), WhatHelps()
    if late and key in inputs.houses:
        case = LateHouse(company, inputs.houses[key], now, inputs, placements)
        found = _what_helps(case, limits, child)
    placed = frozenset(place.task for place in placements)
    return Explained(late, found, _conflicts(inputs, key, placed, limits, child))


def _what_helps(case: LateHouse, limits: Limits, child: Child) -> WhatHelps:
    """Try the changes one by one in the solver's child process."""
    tried = list(changes_for(case))
    changes, problem = [row.change for row in tried], case.inputs.problem
    changed = [change.problem for change in changes]
    try:
        with closing(solve_again(problem, changed, case.placements, limits, child)) as solved:
            found = cures(str(case.house.public_id), problem, changes, solved)
    except ChildEnded as ended:
        return WhatHelps(failure=str(ended))
    return WhatHelps(
        found.unchanged * TICK_MINUTES,
        found.noise * TICK_MINUTES,
        [_cure_json(cure, tried) for cure in found.found],
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


def _conflicts(
    inputs: PlanInputs, house: str, placed: frozenset[str], limits: Limits, child: Child
) -> list[dict[str, Any]]:
    """Return one conflict for each reason and stage of the house's work without a place, worked
    out in the solver's child process, or why it could not be."""
    unplaced = _unplaced(inputs, house, placed)
    if not unplaced:
        return []
    told: list[dict[str, Any]] = [
        {**_named(inputs, task), "grounds": [], "failure": ""} for task in unplaced
    ]
    answers = child.conflicts(inputs.problem, unplaced, placed, limits)
    for number, conflict in enumerate(told):
        try:
            grounds = next(answers)
        except (ChildEnded, StopIteration) as ended:
            failure = str(ended) or "the solver ended early"
            return told[:number] + [{**row, "failure": failure} for row in told[number:]]
        conflict["grounds"] = [_ground_json(inputs, house, ground) for ground in grounds]
    return told


def _unplaced(inputs: PlanInputs, house: str, placed: frozenset[str]) -> list[str]:
    """Return a task for each reason and stage; the others are without a place for the same."""
    tasks = {task.id: task for task in inputs.problem.tasks}
    first: dict[tuple[str, str], str] = {}
    for item in construct(inputs.problem).unplaced:
        task = tasks[item.task]
        if task.house == house and task.id not in placed and item.code != "after_unplaced":
            first.setdefault((item.code, task.id.split(":")[1]), task.id)
    return list(first.values())


def _ground_json(inputs: PlanInputs, house: str, ground: Ground) -> dict[str, str]:
    named = _named(inputs, "" if ground.subject == house else ground.subject)
    other = _named(inputs, ground.other)
    return {"code": ground.code, **named, "other": other["task"], "other_room": other["room"]}


def _named(inputs: PlanInputs, key: str) -> dict[str, str]:
    """Return a task's key and its room or job; the name alone of a house or a room."""
    stage, job, house = inputs.stages.get(key), inputs.odd_jobs.get(key), inputs.houses.get(key)
    if stage:
        return {"task": key, "room": stage.room.name}
    if job:
        return {"task": key, "room": job.name}
    rooms = (row.room for row in inputs.stages.values() if str(row.room.public_id) == key)
    room = next(rooms, None)
    return {"task": "", "room": house.name if house else room.name if room else ""}
