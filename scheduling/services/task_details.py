"""What a planned task says about itself: codes and values for wording, never sentences."""

from collections.abc import Mapping
from typing import Any

from finishing.models import House
from finishing.rules.cautions import Caution, cautions_for
from finishing.rules.coats import order_within_stage
from finishing.rules.materials import Material, stage_material
from finishing.rules.practice import tools_for, width_mm
from finishing.rules.vocabulary import CornerTool, Hardening, JointKind, RoomKind, Stage
from scheduling.services.followed import may_be_followed
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.room_work import RoomStage, SurfaceWork
from scheduling.services.why import waited_in_air, why_json
from scheduling.solver.problem import Placement, Task
from scheduling.solver.reason import Reason
from scheduling.solver.stays import DRYER

UNITS: Mapping[JointKind, str] = {JointKind.FASTENERS: "each", JointKind.SURFACE: "m2"}
NO_COAT: Mapping[str, Any] = {
    "room": "",
    "area": "",
    "part": [1, 1],
    "compound": "",
    "hardening": "",
    "working_minutes": 0,
    "tape": "",
    "work": [],
    "area_m2": 0.0,
    "material": {"litres": 0.0, "kg": 0.0, "powder_kg": 0.0, "water_l": 0.0, "tape_m": 0.0},
    "tools": [],
    "cautions": [],
    "leaves": {"governs": "", "air": ""},
    "waits_on": {},
}
"""The details of an odd job, which has no joints."""

HIGH_M = 2.7
"""Above this, work is done from ladders, trestles or a tower: an assumption."""


def task_details(
    inputs: PlanInputs,
    place: Placement,
    task: Task,
    reasons: Mapping[str, Reason],
    places: Mapping[str, Placement],
) -> dict[str, Any]:
    """Return the details of a task as JSON: room, area, compound and how it hardens, tape, the work
    by surface and joint kind, each line with its rate (see ``_rated``), the m2 of its surfaces,
    material (L, kg, m), tool and caution codes, what its planned ready time rests on (``leaves``),
    the coat it waits on (``waits_on``) and why it is not earlier (``why``). places: the plan's
    placements by task."""
    stage = inputs.stages.get(place.task)
    details: dict[str, Any] = {
        "person_minutes": task.person_minutes,
        "why": why_json(inputs, places, place.task, reasons.get(place.task)),
    }
    if stage is None:
        job = inputs.odd_jobs[place.task]
        cautions = [str(Caution.HEATER_CO)] if _flame_in(inputs, job.house) else []
        return details | dict(NO_COAT) | {"job": job.name, "cautions": cautions}
    share = task.person_minutes / stage.person_minutes if stage.person_minutes else 1.0
    return details | {
        "job": "",
        **stage_details(stage, share),
        "part": _part(inputs, place.task, stage),
        "tools": [str(tool) for tool in tools_for(stage.stage, _corner(stage))],
        "cautions": _cautions(inputs, stage),
        "leaves": _leaves(inputs, place, task),
        "waits_on": _waits_on(inputs, place, places),
    }


def stage_details(stage: RoomStage, share: float = 1.0) -> dict[str, Any]:
    """Return what of a task's details rests on no place in a plan. share: of the stage's work."""
    return {
        "room": stage.room.name,
        "area": stage.room.area.name,
        **_compound(stage),
        "tape": str(stage.tape) if stage.stage is Stage.TAPE else "",
        "work": _work(stage, share),
        "area_m2": round(sum(part.surface.area_m2 for part in stage.surfaces) * share, 2),
        "material": _material(stage, share),
    }


def _part(inputs: PlanInputs, key: str, stage: RoomStage) -> list[int]:
    """Return which part of how many of the room's stage this is."""
    keys = [name for name, of in inputs.stages.items() if of is stage]
    number = int(key.rpartition(":")[2]) if key.count(":") > 1 else 1
    return [number, number + len(keys) - 1 - keys.index(key)]


def _compound(stage: RoomStage) -> dict[str, Any]:
    compound = stage.compound
    if compound is None:
        return {"compound": "", "hardening": "", "working_minutes": 0}
    return {
        "compound": compound.name,
        "hardening": str(compound.hardening),
        "working_minutes": compound.working_minutes,
    }


def _work(stage: RoomStage, share: float) -> list[dict[str, Any]]:
    lines = [
        (order_within_stage(is_ceiling=part.is_ceiling, kind=kind), part, kind, of_kind)
        for part in stage.surfaces
        for kind, of_kind in part.work.kinds.items()
        if part.quantities.get(kind, 0) > 0
    ]
    lines.sort(key=lambda line: line[0])
    joints = [
        _line(part, kind, of_kind * share) | _rated(stage, part.work.stage, kind)
        for _, part, kind, of_kind in lines
    ]
    return joints + [
        _cornice_line(part, share) | _rated(stage, Stage.CORNICE, JointKind.INTERNAL)
        for part in stage.surfaces
        if part.work.cornice_m > 0
    ]


def _rated(stage: RoomStage, of: Stage, kind: JointKind) -> dict[str, Any]:
    """Return the rate of a line: its stage (another's faces come along with a finish coat), the
    person-minutes per unit."""
    rates = (rate.minutes for rate in stage.rates if (rate.stage, rate.kind) == (of, kind))
    return {"rate_of": str(of), "rated": next(rates, None)}


def _cornice_line(part: SurfaceWork, share: float) -> dict[str, Any]:
    metres = round(part.work.cornice_m * share, 1)
    return {"part": part.surface.part, "kind": "cornice", "quantity": metres, "unit": "m"}


def _line(part: SurfaceWork, kind: JointKind, share: float) -> dict[str, Any]:
    width = width_mm(kind, part.work.stage)
    one_face = kind is JointKind.INTERNAL and part.work.kinds[kind] < 1
    return {
        "part": part.surface.part,
        "kind": str(kind),
        "quantity": round(part.quantities[kind] * (share * 2 if one_face else share), 1),
        "unit": UNITS.get(kind, "m"),
        "one_face": one_face,
        "width_mm": width.most_mm if width else None,
        "width_least_mm": width.least_mm if width else None,
        "width_each_side": width.each_side if width else False,
        "for_tiles": part.work.for_tiles,
        "plastic_bead": kind is JointKind.EXTERNAL and part.surface.plastic_beads,
    }


def _material(stage: RoomStage, share: float) -> dict[str, float]:
    total = Material()
    for part in stage.surfaces:
        added = stage_material(
            part.work,
            part.quantities,
            area_m2=part.surface.area_m2,
            compound=stage.compound,
            tape_per_m=stage.tape_per_m,
        )
        total = Material(
            litres=total.litres + added.litres,
            kg=total.kg + added.kg,
            powder_kg=total.powder_kg + added.powder_kg,
            water_l=total.water_l + added.water_l,
            tape_m=total.tape_m + added.tape_m,
        )
    return {
        "litres": round(total.litres * share, 2),
        "kg": round(total.kg * share, 2),
        "powder_kg": round(total.powder_kg * share, 2),
        "water_l": round(total.water_l * share, 2),
        "tape_m": round(total.tape_m * share, 1),
    }


def _corner(stage: RoomStage) -> CornerTool:
    return CornerTool(_house(stage).corner_tool)


def _house(stage: RoomStage) -> House:
    return stage.room.area.house


def _flame_in(inputs: PlanInputs, house: House) -> bool:
    brought = (row.flame and row.house_id == house.pk for row in inputs.dryers.values())
    return house.flame_heater or any(brought)


def _cautions(inputs: PlanInputs, stage: RoomStage) -> list[str]:
    house = _house(stage)
    hardening: Hardening | None = stage.compound.hardening if stage.compound else None
    high = stage.room.kind == RoomKind.STAIRWELL or (stage.room.height_m or 0) > HIGH_M
    codes = cautions_for(
        stage.stage,
        hardening=hardening,
        wet_area=any(part.surface.wet_area for part in stage.surfaces),
        old_joints=house.old_joints,
        fire_rated=house.fire_rated,
        high=high or any(part.is_ceiling for part in stage.surfaces),
        heated_by_flame=_flame_in(inputs, house),
    )
    return [str(code) for code in codes]


def _leaves(inputs: PlanInputs, place: Placement, task: Task) -> dict[str, str]:
    """Return what governs when the coat may be followed, and what air that rests on."""
    followed = may_be_followed(inputs.problem, place, task)
    if followed is None:
        return {"governs": "", "air": ""}
    ready, reason = followed
    air = inputs.airs[task.house]
    return {
        "governs": reason,
        "air": air.source_between(place.end, ready) if reason == "air" else "",
    }


def _waits_on(
    inputs: PlanInputs, place: Placement, places: Mapping[str, Placement]
) -> dict[str, Any]:
    """Return the wait on a coat that lets go of a task last, whatever else binds it; {} for none.

    Coats already done count like planned ones, so that a crew reads the same from one plan to
    the next.
    """
    curves = inputs.problem.curves
    found = [
        (curves[wait.curve].ready(places[wait.before].end), wait.before, wait.reason)
        for wait in inputs.problem.waits
        if wait.after == place.task
        and wait.reason not in ("order", DRYER)
        and wait.before in places
    ]
    done = inputs.done_waits.get(place.task)
    if done and done.reason != "order":
        found.append((done.ready, done.before, done.reason))
    if not found:
        return {}
    ready, before, reason = max(found)
    return {
        "other": before,
        "reason": reason,
        "ready_at": inputs.timeline.instant(ready).isoformat(),
        "air": waited_in_air(inputs, places, place.task, Reason(reason, ready, before)),
    }
