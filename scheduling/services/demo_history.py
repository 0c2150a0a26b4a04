"""Invented weeks behind the demo company: a house that is handed over, what its crew reported, and
what was agreed on, so that the pages that look back have something to show. Nothing is random."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import uuid5
from zoneinfo import ZoneInfo

from django.db import transaction

from finishing.models import Area, Company, Crew, House, PayTerm, Room
from finishing.rules.vocabulary import JointKind, Stage
from finishing.services.pay_terms import add_pay_term
from scheduling.models import ExtraWork, Obstacle, Report, SentReport, Visit, VisitPerson
from scheduling.services.rate_jobs import present_rates

HOUSE, ROOMS = "Quay House (handed over)", 6
WEEKS = 8
STAGES = (Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.SAND)
SLOWER = (1.18, 1.05, 1.22, 1.15, 0.97, 1.31)
"""What each room took over what the rates say."""
METRES, AREA_M2 = 140.0, 112.0
PEOPLE = 2
CENTS_AN_HOUR, CENTS_A_METRE = 2150, 118


@transaction.atomic
def make_up_history(*, company: Company, now: datetime) -> None:
    """Store what a demo company's crew did in the weeks before now, in place of what was made up
    before. Call it once its plans are forgotten."""
    if not company.is_demo:
        raise ValueError(f"{company} is no demo")
    _forget(company)
    crew = Crew.objects.filter(company=company, is_active=True).order_by("pk")[0]
    house = House.objects.create(
        company=company,
        name=HOUSE,
        zone=company.zone,
        handover_on=now.date() - timedelta(days=1),
        is_active=False,
        is_open=True,
    )
    area = Area.objects.create(company=company, house=house, name="House")
    rooms = [
        Room.objects.create(company=company, area=area, name=f"Room {n}", position=n)
        for n in range(1, ROOMS + 1)
    ]
    monday = now.date() - timedelta(days=now.weekday(), weeks=WEEKS)
    rates = present_rates(company)
    for number, (stage, place) in enumerate((s, n) for s in STAGES for n in range(ROOMS)):
        day = monday + timedelta(weeks=number // 3, days=(0, 1, 4)[number % 3])
        minutes = round(METRES * rates[stage, JointKind.TAPERED])
        visit = _visit(crew, rooms[place], stage, day, minutes)
        _reported(visit, SLOWER[place], number)
    _pay(company, crew, monday)


def _forget(company: Company) -> None:
    for model in (ExtraWork, Obstacle, Visit):
        model._default_manager.filter(company=company, house__name=HOUSE).delete()
    House.objects.filter(company=company, name=HOUSE).delete()


def _visit(crew: Crew, room: Room, stage: Stage, day: date, minutes: int) -> Visit:
    house = room.area.house
    starts_at = datetime.combine(day, time(8), ZoneInfo(crew.zone))
    ends_at = starts_at + timedelta(minutes=-(-minutes // PEOPLE))
    key = f"{room.public_id}:{stage}"
    task = _task(key, room, stage, minutes) | {
        "starts_at": starts_at.isoformat(),
        "ends_at": ends_at.isoformat(),
        "waits_on": _waits_on(room, stage, starts_at),
        "work": [_work(crew.company, stage)],
    }
    shown = {"name": house.name, "address": "", "latitude": None, "longitude": None}
    visit = Visit.objects.create(
        company=house.company,
        crew=crew,
        house=house,
        uid=uuid5(room.public_id, stage),
        starts_at=starts_at,
        ends_at=ends_at,
        task_minutes={key: minutes // PEOPLE},
        content={
            "crew": crew.name,
            "house": shown,
            "tasks": [task],
            "setup_minutes": 0,
            "washup_minutes": 0,
        },
        created_at=starts_at - timedelta(days=7),
        modified_at=starts_at - timedelta(days=7),
    )
    stamps = {"created_at": visit.created_at, "modified_at": visit.created_at}
    for member in crew.members.order_by("pk")[:PEOPLE]:
        VisitPerson.objects.create(company=house.company, visit=visit, person=member.name, **stamps)
    return visit


def _task(key: str, room: Room, stage: Stage, minutes: int) -> dict[str, Any]:
    material = {"litres": 0.0, "kg": 0.0, "powder_kg": 0.0, "water_l": 0.0, "tape_m": 0.0}
    return {
        "key": key,
        "stage": str(stage),
        "room": room.name,
        "area": "House",
        "job": "",
        "part": [1, 1],
        "person_minutes": minutes,
        "compound": "",
        "hardening": "",
        "working_minutes": 0,
        "area_m2": AREA_M2,
        "material": material,
        "tools": [],
        "cautions": [],
        "leaves": {},
        "ready_at": None,
    }


def _waits_on(room: Room, stage: Stage, starts_at: datetime) -> dict[str, Any]:
    """Return the wait on the coat before, predicted to be ready a few hours earlier."""
    if stage == Stage.TAPE:
        return {}
    before = STAGES[STAGES.index(stage) - 1]
    ready = starts_at - timedelta(hours=(1, 5, 14, 30)[room.position % 4])
    return {
        "other": f"{room.public_id}:{before}",
        "reason": "air",
        "ready_at": ready.isoformat(),
        "air": "record",
    }


def _work(company: Company, stage: Stage) -> dict[str, Any]:
    rate = present_rates(company)[stage, JointKind.TAPERED]
    return {
        "part": "walls",
        "kind": str(JointKind.TAPERED),
        "quantity": METRES,
        "unit": "m",
        "one_face": False,
        "width_mm": None,
        "width_least_mm": None,
        "width_each_side": False,
        "for_tiles": False,
        "plastic_bead": False,
        "rate_of": str(stage),
        "rated": rate,
    }


def _reported(visit: Visit, slower: float, number: int) -> None:
    (task,) = visit.content["tasks"]
    ended = visit.starts_at + slower * (visit.ends_at - visit.starts_at)
    about = {name: task[name] for name in ("key", "starts_at", "ends_at", "part", "compound")}
    common: dict[str, Any] = {"company": visit.company, "crew": visit.crew}
    for kind, at in (("started", visit.starts_at), ("done", ended)):
        Report.objects.create(
            **common,
            key=task["key"],
            kind=kind,
            at=at,
            said_at=at,
            about={**about, "person_minutes": task["person_minutes"]},
        )
    SentReport.objects.create(
        **common,
        sent_as=visit.uid,
        visit=visit,
        action="finished",
        said={"left": {}, "people": PEOPLE},
        at=ended,
        said_at=ended,
    )
    for row in _words(visit, number):
        row.save()


def _words(visit: Visit, number: int) -> Iterator[Report | Obstacle | ExtraWork]:
    """Yield what else the crew had to say of some visits."""
    of_crew: dict[str, Any] = {"company": visit.company, "crew": visit.crew}
    of_visit: dict[str, Any] = {**of_crew, "house": visit.house, "visit": visit}
    (task,) = visit.content["tasks"]
    if (on := task["waits_on"]) and number % 7 == 0:
        at = visit.starts_at - timedelta(days=1)
        about = {"ready_at": on["ready_at"], "house": str(visit.house.public_id)}
        said = {"kind": "not_dry", "key": on["other"], "at": at, "said_at": at}
        yield Report(**of_crew, **said, about=about)
    if number == 4:
        at = visit.starts_at + timedelta(days=1)
        settled = {"settled_at": at + timedelta(days=2)}
        yield Obstacle(**of_visit, at=at, reason="not_ready", item="power", **settled)
    if number % 9 == 5:
        what = "Filled chases that the electrician opened again"
        yield ExtraWork(**of_visit, at=visit.ends_at, what=what, person_minutes=90)


def _pay(company: Company, crew: Crew, since: date) -> None:
    PayTerm.objects.filter(company=company).delete()
    usual: dict[str, Any] = {"person": "", "since": since, "crew": crew}
    add_pay_term(company=company, values={**usual, "stage": "", "amount": CENTS_AN_HOUR})
    add_pay_term(company=company, values={**usual, "stage": "tape", "amount": CENTS_A_METRE})
