"""Why a task is not earlier, as a plan stores it: the solver's reason with what only the rows
know."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.problem import Placement
from scheduling.solver.reason import Reason
from scheduling.solver.stays import DRYER

WAIT_REASONS = frozenset({"order", "set", "rule", "air", DRYER})


def why_json(
    inputs: PlanInputs, places: Mapping[str, Placement], task: str, reason: Reason | None
) -> dict[str, Any]:
    """Return what lets go of a task last; a wait's own reason stands beside the code ``wait``.

    ``room`` and ``house`` are the other task's, where they are not the task's own; ``air`` is
    what air a wait for it rests on. A fixed task is ``started``, ``pinned`` or ``frozen``.
    """
    if reason is None:
        return {}
    told = _as_known(inputs, task, reason)
    is_wait = told.code in WAIT_REASONS
    return {
        "code": "wait" if is_wait else told.code,
        "reason": told.code if is_wait else "",
        "other": told.other,
        "ready_at": inputs.timeline.instant(told.tick).isoformat(),
        "air": waited_in_air(inputs, places, task, told),
        **_elsewhere(inputs, task, told.other),
    }


def waited_in_air(
    inputs: PlanInputs, places: Mapping[str, Placement], task: str, reason: Reason
) -> str:
    """Return what the air of a task's wait for drying rests on, from the end of the coat to the
    tick at which it is dry; "" for a wait of another kind."""
    if reason.code != "air":
        return ""
    before, done = places.get(reason.other), inputs.done_waits.get(task)
    ended = before.end if before else done.ended if done else reason.tick
    house = str(inputs.stages[task].room.area.house.public_id)
    return inputs.airs[house].source_between(ended, reason.tick)


def room_of(inputs: PlanInputs, task: str) -> str:
    """Return the name of a task's room or job; "" for no task of this problem."""
    stage, job = inputs.stages.get(task), inputs.odd_jobs.get(task)
    return stage.room.name if stage else job.name if job else ""


def house_of(inputs: PlanInputs, task: str) -> str:
    """Return the name of a task's house; "" for no task of this problem."""
    stage, job = inputs.stages.get(task), inputs.odd_jobs.get(task)
    return stage.room.area.house.name if stage else job.house.name if job else ""


def _as_known(inputs: PlanInputs, task: str, reason: Reason) -> Reason:
    """To the solver a wait on a coat already done is a release, and whatever stays is fixed."""
    done = inputs.done_waits.get(task)
    if reason.code == "release" and done and done.ready == reason.tick:
        return Reason(done.reason, done.ready, done.before)
    if reason.code == "release" and _delivered(inputs, task) == reason.tick:
        return replace(reason, code="delivery")
    if reason.code == "fixed":
        started = reason.tick < inputs.problem.now
        stays = "pinned" if task in inputs.pinned else "frozen"
        return replace(reason, code="started" if started else stays)
    return reason


def _delivered(inputs: PlanInputs, task: str) -> int | None:
    """Return the tick from which the material of a task is there; None where it is not waited
    for."""
    stage = inputs.stages.get(task)
    return inputs.delivered.get((stage.room.area.house_id, stage.stage)) if stage else None


def _elsewhere(inputs: PlanInputs, task: str, other: str) -> dict[str, str]:
    room, house = room_of(inputs, other), house_of(inputs, other)
    at_house = house in {"", house_of(inputs, task)}
    return {
        "room": "" if at_house and room == room_of(inputs, task) else room,
        "house": "" if at_house else house,
    }
