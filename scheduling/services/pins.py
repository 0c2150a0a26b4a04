"""Pinning work to a crew and a time, and ending that."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from finishing.models import Company, Crew, Deed, User
from finishing.services.deeds import note_deed
from finishing.services.errors import Fault, InputFaults
from scheduling.models import Pin
from scheduling.rule_wording import rule_sentence
from scheduling.services.named_work import RoomWork
from scheduling.services.pin_check import PinCheck, check_pins
from scheduling.services.pin_ground import PinGround, pin_ground
from scheduling.services.pinned import place_of
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.reported import stage_key_of
from scheduling.solver.problem import Placement, Task
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
    ground = pin_ground(company=wanted.company, house=None, now=now)
    names, tasks = _tasks(ground, wanted.work)
    places = list(places_from(ground, tasks, wanted.crew, wanted.starts_at))
    check = check_pins(ground.problem, places, ground.pinned)
    if check.stuck:
        raise InputFaults([Fault(names[check.stuck.place.task], _refusal(ground.inputs, check))])
    return put_pins(ground=ground, places=places, crew=wanted.crew, now=now, user=user)


@transaction.atomic
def put_pins(
    *,
    ground: PinGround,
    places: Sequence[Placement],
    crew: Crew,
    now: datetime,
    user: User | None = None,
) -> list[Pin]:
    """Store pins of places that have been checked on this ground, in the place of older ones."""
    company = crew.company
    end_pins_of_tasks(company=company, keys=[place.task for place in places], now=now)
    pins = [
        Pin(
            company=company,
            key=place.task,
            crew=crew,
            starts_at=ground.inputs.timeline.instant(place.start),
            made_at=now,
            made_by=user,
        )
        for place in places
    ]
    for pin in pins:
        pin.full_clean()
        pin.save()
    return pins


@transaction.atomic
def end_pins(*, company: Company, work: Sequence[RoomWork], now: datetime) -> int:
    """Let work move again and return how many pins ended."""
    keys = {piece.key for piece in work}
    pins = Pin.objects.filter(company=company, ended_at=None)
    mine = [pin.key for pin in pins if stage_key_of(pin.key) in keys]
    return end_pins_of_tasks(company=company, keys=mine, now=now)


@transaction.atomic
def end_pins_made_with(*, pin: Pin, now: datetime, by: User | None = None) -> int:
    """End a pin with those made together with it, and return how many ended."""
    made = Pin.objects.filter(company=pin.company_id, crew=pin.crew_id, made_at=pin.made_at)
    keys = list(made.filter(ended_at=None).values_list("key", flat=True))
    if keys:
        note_deed(
            company=pin.company,
            by=by,
            code=Deed.Code.UNPINNED,
            now=now,
            crew=pin.crew.name,
            starts_at=pin.starts_at.isoformat(),
        )
    return end_pins_of_tasks(company=pin.company, keys=keys, now=now)


@transaction.atomic
def end_pins_of_tasks(*, company: Company, keys: Iterable[str], now: datetime) -> int:
    """Let tasks move again and return how many pins ended."""
    ended = 0
    for pin in Pin.objects.filter(company=company, key__in=list(keys), ended_at=None):
        pin.ended_at = now
        pin.version += 1
        pin.save()
        ended += 1
    return ended


def places_from(
    ground: PinGround,
    tasks: Sequence[Task],
    crew: Crew,
    starts_at: datetime,
    pauses: Sequence[int] = (),
) -> Iterator[Placement]:
    """Yield the places of tasks with a crew from a moment on, with so many ticks between them.

    Raises InputFaults for a crew that gets no new work.
    """
    known = {row.id: row for row in ground.problem.crews}
    if str(crew.public_id) not in known:
        raise InputFaults([Fault("crew", f"{crew} gets no new work")])
    start = ground.inputs.timeline.tick_after(starts_at)
    for number, task in enumerate(tasks):
        place = place_of(task, known[str(crew.public_id)], start)
        yield place
        start = place.end + (pauses[number] if number < len(pauses) else 0)


def _tasks(ground: PinGround, work: Sequence[RoomWork]) -> tuple[dict[str, str], list[Task]]:
    """Return the tasks of the work in order, and by task what the work is called; raise
    InputFaults for work there is none of, or that is under way."""
    problem = ground.problem
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
    names = {task.id: piece.name for piece in work for task in by_stage[piece.key]}
    return names, [task for piece in work for task in by_stage[piece.key]]


def _refusal(inputs: PlanInputs, check: PinCheck) -> str:
    assert check.stuck, "only what will not do is refused"
    broken, mine = check.stuck.broken[0], check.stuck.place.task
    other = broken.other if broken.task == mine else broken.task
    said = rule_sentence(broken.code, {"other": _name(inputs, other)})
    if not check.nearest:
        return f"{said}; no time would do"
    first = check.nearest[0]
    crew = inputs.crews[first.crew]
    at = moment(inputs.timeline.instant(first.start), pinned_zone(crew.zone))
    return f"{said}; the nearest that would do: {crew}, {at}"


def _name(inputs: PlanInputs, key: str) -> str:
    stage, job = inputs.stages.get(key), inputs.odd_jobs.get(key)
    if stage:
        return listed([stage_name(stage.stage), stage.room.name])
    return job.name if job else ""
