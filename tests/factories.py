"""Small makers of rows. What a test does not name gets a plain value.

company = make_company()
crew, house = make_crew(company), make_house(company, rooms=("Hall", "Kitchen"))
make_plan(company, [task(crew, house, "2026-03-02 08:00", minutes=120, room="Hall")])
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Area, Company, Crew, CrewHours, CrewMember, House, Room, Surface
from finishing.rules.vocabulary import Heating, Skill, Stage
from scheduling.models import CompanyPlans, Plan, PlannedTask

ZONE = "Europe/Dublin"


def local(text: str, zone: str = ZONE) -> datetime:
    """Return the UTC instant of a local ``YYYY-MM-DD HH:MM``."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)


def make_company(name: str = "Test Finishing", zone: str = ZONE, **fields: Any) -> Company:
    """A company whose crews set up and wash up in no time, so that visits are their tasks."""
    fields = {"setup_minutes": 0, "washup_minutes": 0, **fields}
    return Company.objects.create(name=name, zone=zone, **fields)


def make_crew(company: Company, name: str = "North crew", *, heads: int = 2, **fields: Any) -> Crew:
    """A crew of so many people with every skill, Monday to Friday 07:00 to 15:30."""
    fields = {"zone": company.zone, **fields}
    crew = Crew.objects.create(company=company, name=name, **fields)
    CrewMember.objects.bulk_create(
        CrewMember(company=company, crew=crew, name=f"{name} {number}", skills=[*Skill])
        for number in range(1, heads + 1)
    )
    CrewHours.objects.bulk_create(
        CrewHours(company=company, crew=crew, weekday=weekday, start=time(7), end=time(15, 30))
        for weekday in range(5)
    )
    return crew


def make_house(
    company: Company, name: str = "Mill Cottage", *, rooms: Sequence[str] = ("Hall",), **fields: Any
) -> House:
    """A house with one area, "Ground floor", and in each of its rooms walls to level 4. One that
    is not heated is an open shell, whose air is outdoor air whatever dries in it."""
    shell = {"is_open": fields.get("heating") != Heating.HEATED}
    fields = {"zone": company.zone, "handover_on": date(2026, 3, 27), **shell, **fields}
    house = House.objects.create(company=company, name=name, **fields)
    area = Area.objects.create(company=company, house=house, name="Ground floor")
    for position, room_name in enumerate(rooms):
        room = Room.objects.create(company=company, area=area, name=room_name, position=position)
        Surface.objects.create(
            company=company, room=room, part="walls", family="GA-214", level="4", takeoff="measured"
        )
    return house


def task(
    crew: Crew,
    house: House,
    start: str | datetime,
    *,
    minutes: int = 120,
    stage: str = Stage.TAPE,
    room: str = "",
    key: str = "",
    ready_after: timedelta | None = timedelta(hours=24),
    **details: Any,
) -> PlannedTask:
    """An unsaved task; ``start`` is an instant or the crew's local ``YYYY-MM-DD HH:MM``.

    room: a name, by default the house's first room. details: see the contract of task details.
    """
    starts_at = local(start, crew.zone) if isinstance(start, str) else start
    rooms = Room.objects.filter(area__house=house).select_related("area")
    row = rooms.get(name=room) if room else rooms[0]
    ends_at = starts_at + timedelta(minutes=minutes)
    return PlannedTask(
        company=crew.company,
        key=key or f"{row.public_id}:{stage}",
        crew=crew,
        house=house,
        area=row.area,
        stage=stage,
        starts_at=starts_at,
        ends_at=ends_at,
        ready_at=None if ready_after is None else ends_at + ready_after,
        details={**plain_details(row), "person_minutes": 2 * minutes, **details},
    )


def plain_details(room: Room) -> dict[str, Any]:
    """The details of a coat of all-purpose drying compound on a room's flat joints."""
    return {
        "room": room.name,
        "area": room.area.name,
        "job": "",
        "person_minutes": 0,
        "compound": "All-purpose drying compound",
        "hardening": "dries",
        "working_minutes": 0,
        "work": [
            {"part": "walls", "kind": "tapered", "quantity": 12.3, "unit": "m", "width_mm": 150}
        ],
        "material": {"litres": 3.2, "kg": 5.3, "powder_kg": 0.0, "water_l": 0.0, "tape_m": 12.5},
        "tools": ["knife_150"],
        "cautions": [],
        "leaves": {"governs": "rule", "air": "record"},
        "waits_on": {},
        "why": {"code": "release", "other": "", "reason": "", "ready_at": None},
    }


def make_plan(company: Company, tasks: Iterable[PlannedTask] = (), **fields: Any) -> Plan:
    """Store a plan with these tasks and make it the company's working plan."""
    fields = {
        "created_at": datetime(2026, 3, 1, 12, tzinfo=UTC),
        "lateness_minutes": 0,
        "visits": 0,
        "idle_minutes": 0,
        "status": "feasible",
        **fields,
    }
    plan = Plan.objects.create(company=company, **fields)
    rows = [*tasks]
    for planned in rows:
        planned.plan = plan
    PlannedTask.objects.bulk_create(rows)
    CompanyPlans.objects.update_or_create(company=company, defaults={"working": plan})
    return plan
