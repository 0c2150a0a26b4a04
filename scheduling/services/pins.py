"""Pinning work to a crew and a time, and ending that."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction

from finishing.models import Company, Crew, User
from finishing.services.errors import Fault, InputFaults
from scheduling.models import Pin
from scheduling.queries.pins import pins_to_come
from scheduling.rule_wording import rule_sentence
from scheduling.services.inputs import build_inputs
from scheduling.services.named_work import RoomWork
from scheduling.services.pin_check import check_pin
from scheduling.services.pinned import place_of
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.reported import stage_key_of
from scheduling.solver.outcome import Violation
from scheduling.solver.problem import Placement, Problem, Task
from scheduling.solver.release import keep_what_holds
from scheduling.timezones import pinned_zone
from scheduling.wording import listed, moment, stage_name


@dataclass(frozen=True)
class PinWanted:
    """What somebody wants pinned: pieces of work one after another, with a crew, from a moment."""

    company: Company
    crew: Crew
    work: Sequence[RoomWork]
    starts_at: datetime


@transaction.atomic
def pin_work(*, wanted: PinWanted, now: datetime, user: User | None = None) -> list[Pin]:
    """Pin each task of the work, one after another; all of them or none.

    Raises InputFaults naming the work, the rule that its place breaks, and the nearest place that
    would do. A pin takes the place of one that the task had.
    """
    inputs = build_inputs(company=wanted.company, now=now)
    inputs.problem = keep_what_holds(inputs.problem, inputs.pinned).problem
    places = _places(inputs, wanted)
    pins = [
        Pin(
            company=wanted.company,
            key=place.task,
            crew=wanted.crew,
            starts_at=inputs.timeline.instant(place.start),
            made_at=now,
            made_by=user,
        )
        for place in places
    ]
    _end(wanted.company, [pin.key for pin in pins], now)
    for pin in pins:
        pin.full_clean()
        pin.save()
    return pins


@transaction.atomic
def end_pins(*, company: Company, work: Sequence[RoomWork], now: datetime) -> int:
    """Let work move again and return how many pins ended."""
    keys = {piece.key for piece in work}
    pins = Pin.objects.filter(company=company, ended_at=None)
    return _end(company, [pin.key for pin in pins if stage_key_of(pin.key) in keys], now)


def named_pins(*, company: Company, now: datetime) -> list[tuple[str, Pin]]:
    """Return the pins to come, each with the house and the work that it is of."""
    inputs = build_inputs(company=company, now=now)
    houses = {task.id: inputs.houses[task.house].name for task in inputs.problem.tasks}
    return [
        (listed([houses.get(pin.key, ""), _name(inputs, pin.key)]) or pin.key, pin)
        for pin in pins_to_come(company, now)
    ]


def _end(company: Company, keys: Sequence[str], now: datetime) -> int:
    ended = 0
    for pin in Pin.objects.filter(company=company, key__in=keys, ended_at=None):
        pin.ended_at = now
        pin.version += 1
        pin.save()
        ended += 1
    return ended


def _places(inputs: PlanInputs, wanted: PinWanted) -> list[Placement]:
    """Return the places of the tasks from the start on; raise InputFaults where one cannot be."""
    problem, start = inputs.problem, inputs.timeline.tick_after(wanted.starts_at)
    crew = next((row for row in problem.crews if row.id == str(wanted.crew.public_id)), None)
    if crew is None:
        raise InputFaults([Fault("crew", f"{wanted.crew} gets no new work")])
    places: list[Placement] = []
    for piece, task in _tasks(problem, wanted.work):
        place = place_of(task, crew, start)
        check = check_pin(problem, place, {*inputs.pinned, *(done.task for done in places)})
        if check.broken:
            text = _refusal(inputs, check.broken[0], place, check.nearest)
            raise InputFaults([Fault(piece.name, text)])
        places.append(place)
        problem = _with(problem, place)
        start = place.end
    return places


def _tasks(problem: Problem, work: Sequence[RoomWork]) -> list[tuple[RoomWork, Task]]:
    """Return the tasks in the order of the problem; raise InputFaults for work it does not have
    to do, or that is under way."""
    by_stage: dict[str, list[Task]] = {}
    for task in problem.tasks:
        by_stage.setdefault(stage_key_of(task.id), []).append(task)
    faults = []
    for piece in work:
        tasks = by_stage.get(piece.key, [])
        if not tasks:
            faults.append(Fault(piece.name, "is done, or on hold: there is nothing to pin"))
        elif any(task.fixed and task.fixed.start < problem.now for task in tasks):
            faults.append(Fault(piece.name, "is under way: it cannot be pinned"))
    if faults:
        raise InputFaults(faults)
    return [(piece, task) for piece in work for task in by_stage[piece.key]]


def _with(problem: Problem, place: Placement) -> Problem:
    tasks = tuple(
        replace(task, fixed=place) if task.id == place.task else task for task in problem.tasks
    )
    return replace(problem, tasks=tasks)


def _refusal(
    inputs: PlanInputs, broken: Violation, place: Placement, nearest: Placement | None
) -> str:
    other = broken.other if broken.task == place.task else broken.task
    said = rule_sentence(broken.code, {"other": _name(inputs, other)})
    if nearest is None:
        return f"{said}; no time would do"
    crew = inputs.crews[nearest.crew]
    at = moment(inputs.timeline.instant(nearest.start), pinned_zone(crew.zone))
    return f"{said}; the nearest that would do: {crew}, {at}"


def _name(inputs: PlanInputs, key: str) -> str:
    stage, job = inputs.stages.get(key), inputs.odd_jobs.get(key)
    if stage:
        return f"{stage_name(stage.stage)}, {stage.room.name}"
    return job.name if job else ""
