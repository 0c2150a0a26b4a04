"""A company with a full week, long names and every kind of trouble, for looking at pages."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from finishing.models import (
    Area,
    Closure,
    Company,
    Crew,
    DayOff,
    Holiday,
    House,
    JointLine,
    ReadinessLine,
    Surface,
)
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.models import PlannedTask, Publication
from tests.factories import make_company, make_crew, make_house, make_plan, task

ROOMS = ("Hall", "Kitchen and dining room", "Utility", "Sitting room")
HOUSES = (
    "Mill Cottage",
    "14 Orchard Terrace, rear extension and attic",
    "Weir House",
    "Stair tower, Quay Lofts",
    "Thornwatermeadowbridgehollowfieldsidebarn Lodge",
)
STAGES = (Stage.PREFILL, Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.SAND)


def make_busy_company(monday: date) -> Company:
    """Three crews and five houses, with two visits a day in the week of a Monday."""
    company = make_company("Heron Lane Finishing")
    crews = [make_crew(company, name) for name in ("North crew", "South crew", "Sanders")]
    houses = [_busy_house(company, name) for name in HOUSES]
    tasks = [
        planned
        for day in range(5)
        for number, crew in enumerate(crews)
        if (day, number) != (3, 1)
        for planned in _day_of(crew, number + day, houses, monday + timedelta(days=day))
    ]
    old = make_plan(company)
    at = datetime.combine(monday, time(9, 30), UTC) - timedelta(days=3)
    Publication.objects.create(company=company, revision=4, plan=old, published_at=at)
    make_plan(company, tasks, **_troubles(houses, monday))
    _absences(company, crews, monday)
    return company


def _busy_house(company: Company, name: str) -> House:
    house = make_house(company, name, rooms=ROOMS, address="3 Invented Lane")
    area = Area.objects.get(house=house)
    for surface in Surface.objects.filter(room__area=area):
        JointLine.objects.create(company=company, surface=surface, kind="tapered", metres=24.5)
        JointLine.objects.create(company=company, surface=surface, kind="internal", metres=10.4)
    Surface.objects.filter(room__area=area, room__name="Utility").update(
        takeoff="rough", wet_area=True, area_m2=38
    )
    ReadinessLine.objects.create(company=company, house=house, item=Readiness.POWER, done=True)
    ReadinessLine.objects.create(
        company=company,
        house=house,
        item=Readiness.CLEAR_FLOORS,
        expected_on=date(2026, 3, 6),
        owed_by="The builder",
    )
    Closure.objects.create(
        company=company,
        area=area,
        first_day=date(2026, 3, 9),
        last_day=date(2026, 3, 11),
        reason="Screed",
    )
    return house


def _day_of(crew: Crew, turn: int, houses: list[House], day: date) -> list[PlannedTask]:
    """A morning in one house, room after room, and an afternoon in another."""
    start = datetime.combine(day, time(7, 30), UTC)
    morning, afternoon = houses[turn % 5], houses[(turn + 2) % 5]
    stage = STAGES[turn % 5]
    hours = [start + timedelta(minutes=70 * number) for number in range(4)]
    tasks = [
        _dried(crew, house, begin, room=room, stage=stage)
        for house, begin, room in zip(
            [morning, morning, morning, afternoon], hours, ROOMS, strict=True
        )
    ]
    tasks.append(_dried(crew, afternoon, start + timedelta(minutes=300), "Hall", Stage.SKIM))
    return tasks


def _dried(crew: Crew, house: House, start: datetime, room: str, stage: Stage) -> PlannedTask:
    return task(
        crew,
        house,
        start,
        minutes=70,
        room=room,
        stage=stage,
        key=f"{crew.pk}:{start.isoformat()}",
        ready_after=None if stage is Stage.SAND else timedelta(hours=41),
        cautions=["dust", "silica"] if stage is Stage.SAND else ["ladders"],
        leaves={"governs": "air", "air": "assumed" if stage is Stage.SKIM else "record"},
        why={
            "code": "wait",
            "other": f"x:{Stage.TAPE}",
            "reason": "air",
            "ready_at": (start - timedelta(hours=2)).isoformat(),
        },
    )


def _troubles(houses: list[House], monday: date) -> dict[str, Any]:
    late = datetime.combine(monday, time(14), UTC) + timedelta(days=27)
    return {
        "handovers": [
            {
                "house": houses[1].name,
                "house_id": str(houses[1].public_id),
                "areas": ["Ground floor"],
                "due_on": str(houses[1].handover_on),
                "state": "planned",
                "met_at": late.isoformat(),
                "late_minutes": 2280,
            }
        ],
        "holds": [
            {
                "code": "too_cold",
                "house": houses[2].name,
                "area": "Ground floor",
                "stages": ["tape", "second"],
                "tasks": 8,
                "heat_on_by": str(monday + timedelta(days=2)),
                "item": "",
                "owed_by": "",
            }
        ],
        "air_assumed_from": {str(house.public_id): "2026-03-12T00:00:00+00:00" for house in houses},
    }


def _absences(company: Company, crews: list[Crew], monday: date) -> None:
    day = monday + timedelta(days=3)
    DayOff.objects.create(company=company, crew=crews[1], day=day, reason="Training")
    member = crews[0].members.first()
    DayOff.objects.create(company=company, crew=crews[0], member=member, day=monday)
    Holiday.objects.create(company=company, day=monday + timedelta(days=6), name="Founders Day")
