"""Companies ready to plan: default compounds, a crew, a house with metres, and air.

Invented quantities; the facts that the tests check are named where they are checked.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

from finishing.models import AirDay, AirSource, Company, House, JointingSystem, JointLine, Surface
from finishing.rules.vocabulary import JointKind
from finishing.services.companies import start_company
from tests.factories import ZONE, local, make_crew, make_house

MONDAY = local("2026-03-02 00:00")
"""Where the tests plan from: the first minute of a Monday."""

FLATS_AND_CORNERS: Mapping[JointKind, float] = {
    JointKind.TAPERED: 20.0,
    JointKind.BUTT: 4.0,
    JointKind.INTERNAL: 12.0,
}


def make_site(
    *,
    rooms: Sequence[str] = ("Hall",),
    level: str = "4",
    system: str = "",
    temperature_c: float = 20.0,
    humidity: float = 0.5,
    name: str = "Test Finishing",
    **house_fields: Any,
) -> tuple[Company, House]:
    """A company with one crew of two and one house, without gaps or beads, in steady air."""
    company = start_company(name=name, zone=ZONE)
    company.gap_share = 0.0
    company.save()
    make_crew(company)
    fields = {"weight": 1, **house_fields}
    house = make_house(company, rooms=rooms, **fields)
    give_board(house, level)
    if system:
        house.system = company_system(company, system)
        house.save()
    steady_air(company, temperature_c=temperature_c, humidity=humidity)
    return company, house


def give_board(house: House, level: str = "4") -> None:
    """Give every surface of a house its board, joints and fasteners."""
    for surface in Surface.objects.filter(room__area__house=house):
        surface.level = level
        surface.area_m2 = 40.0
        surface.fasteners = 300
        surface.save()
        add_joints(surface, FLATS_AND_CORNERS)


def make_heated_site(**house_fields: Any) -> tuple[Company, House]:
    """A house of 500 m3 held at 20 C with half an air change an hour, outdoors 10 C and 80 %."""
    usual = {"heating": "heated", "setpoint_c": 20.0, "volume_m3": 500.0, "air_changes_per_h": 0.5}
    return make_site(temperature_c=10.0, humidity=0.8, **{**usual, **house_fields})


def add_joints(surface: Surface, metres: Mapping[JointKind, float]) -> None:
    for kind, length in metres.items():
        JointLine.objects.create(company=surface.company, surface=surface, kind=kind, metres=length)


def company_system(company: Company, name: str) -> JointingSystem:
    return JointingSystem.objects.get(company=company, name=name)


def steady_air(
    company: Company,
    *,
    temperature_c: float,
    humidity: float,
    first: date = date(2026, 2, 10),
    days: int = 40,
) -> AirSource:
    """A station with the same air every hour of so many days."""
    return hourly_station(company, [temperature_c] * 24 * days, [humidity] * 24 * days, first=first)


def hourly_station(
    company: Company,
    temperature_c: Sequence[float],
    humidity: Sequence[float],
    *,
    first: date,
) -> AirSource:
    """A station with whole UTC days of hourly air from ``first`` on."""
    source = AirSource.objects.create(company=company, name="Station")
    AirDay.objects.bulk_create(
        AirDay(
            company=company,
            source=source,
            day=first + timedelta(days=hour // 24),
            temperature_c=list(temperature_c[hour : hour + 24]),
            humidity=list(humidity[hour : hour + 24]),
        )
        for hour in range(0, len(temperature_c) // 24 * 24, 24)
    )
    return source


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)
