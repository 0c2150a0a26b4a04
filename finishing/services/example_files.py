"""Example files with all headings of their kind, made from the columns that its reader knows."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from math import cos, pi

from finishing.models import Area, Company, Compound
from finishing.rules.supplies import SupplyKind
from finishing.rules.vocabulary import Family, Readiness
from finishing.services import (
    air_sheet,
    crew_sheet,
    dryer_sheet,
    house_sheet,
    pack_sheet,
    site_sheet,
)
from finishing.services.file_imports import FileKind
from finishing.services.site_sheet import CLOSED, ODD_JOB, READY

type Row = Mapping[str, str]

HOUSE, FLOOR = "Example house", "Ground floor"
AIR_DAYS = 14
FORMULA_SIGNS = ("=", "+", "-", "@")
"""What a spreadsheet takes for a formula at the start of a cell."""


def columns_of(kind: FileKind) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the columns that a kind of file must have, and those that it may have."""
    sheets = {
        FileKind.HOUSES: house_sheet,
        FileKind.CREWS: crew_sheet,
        FileKind.AIR: air_sheet,
        FileKind.SITE: site_sheet,
        FileKind.DRYERS: dryer_sheet,
        FileKind.PACKS: pack_sheet,
    }
    return sheets[kind].REQUIRED, sheets[kind].OPTIONAL


def example_file(*, company: Company, kind: FileKind, now: datetime) -> bytes:
    """Return a file as a spreadsheet saves it, which can be imported as it is.

    What happens at a house names one that the company has, or else the example's.
    """
    required, optional = columns_of(kind)
    left_out = air_sheet.TEMPERATURES[1:] if kind is FileKind.AIR else ()
    text = io.StringIO()
    titles = [column for column in (*required, *optional) if column not in left_out]
    writer = csv.DictWriter(text, titles, restval="")
    writer.writeheader()
    writer.writerows(_rows(company, kind, now))
    return text.getvalue().encode("utf-8-sig")


def _rows(company: Company, kind: FileKind, now: datetime) -> Iterable[Row]:
    match kind:
        case FileKind.HOUSES:
            return _houses(now.date())
        case FileKind.CREWS:
            return _crews(company)
        case FileKind.AIR:
            return _air(now)
        case FileKind.SITE:
            return _site(*_house_and_area(company), now.date())
        case FileKind.DRYERS:
            return _dryers(company)
        case FileKind.PACKS:
            return _packs(company)


def _houses(today: date) -> Iterator[Row]:
    handover = (today + timedelta(weeks=5)).isoformat()
    house = {"house": HOUSE, "handover": handover, "address": "1 Example Lane", "area": FLOOR}
    level = {"family": Family.GA214.value, "level": "4"}
    yield {
        **house,
        "heated_to_c": "18",
        "room": "Hall",
        "length_m": "4.2",
        "width_m": "1.9",
        "height_m": "2.5",
        "openings": "0.9x2.1; 0.8x2.0 on 1",
        "surface": "ceiling",
        **level,
    }
    yield {"surface": "walls", **level}
    measured = {"tapered_m": "31", "butt_m": "4.8", "internal_m": "10", "external_m": "3"}
    yield {"room": "Living room", "surface": "ceiling", **level, "area_m2": "21"}
    yield {"surface": "walls", **level, **measured, "fasteners": "420", "area_m2": "39"}


def _crews(company: Company) -> Iterator[Row]:
    hours = "mon-fri 07:00-15:30"
    crew = {"crew": "Example crew", "zone": company.zone, "hours": hours}
    yield {**crew, "member": "First person", "skills": "all"}
    yield {"member": "Second person", "skills": "coating, sanding"}


def _air(now: datetime) -> Iterator[Row]:
    """Give invented hours up to now: mild days, damp nights, never too cold for a coat."""
    last = now.replace(minute=0, second=0, microsecond=0)
    for back in range(AIR_DAYS * 24 - 1, -1, -1):
        hour = last - timedelta(hours=back)
        warmth = -cos((hour.hour - 3) / 24 * 2 * pi)
        yield {
            "time": f"{hour:%Y-%m-%dT%H:%MZ}",
            "temperature_c": f"{16 + 3 * warmth:.1f}",
            "humidity": f"{68 - 10 * warmth:.0f}",
            "station": "Example station",
        }


def _house_and_area(company: Company) -> tuple[str, str]:
    rows = Area.objects.filter(company=company, house__is_active=True)
    for house, area in rows.order_by("house_id").values_list("house__name", "name"):
        if not (house + area).startswith(FORMULA_SIGNS) and not area.startswith(FORMULA_SIGNS):
            return house, area
    return HOUSE, FLOOR


def _site(house: str, area: str, today: date) -> Iterator[Row]:
    def on(days: int) -> str:
        return (today + timedelta(days=days)).isoformat()

    boarded, power = Readiness.BOARDED.value, Readiness.POWER.value
    yield {"house": house, "what": READY, "item": boarded, "done": "yes", "owed_by": "Joiner"}
    yield {"what": READY, "item": power, "done": "no", "on": on(1), "owed_by": "Electrician"}
    yield {"what": CLOSED, "area": area, "from": on(10), "to": on(11), "note": "Floor layer"}
    yield {"what": ODD_JOB, "item": "Patch the porch ceiling", "minutes": "120"}


def _dryers(company: Company) -> Iterator[Row]:
    a_day = Decimal(1250).scaleb(-company.currency_digits)
    yield {
        "name": "Example dryer",
        "kind": "dehumidifier",
        "count": "2",
        "litres_per_day": "40",
        "rated_c": "26.7",
        "rated_humidity": "60",
        "hold_humidity": "55",
        "cost_per_day": str(a_day),
        "place": "Yard",
    }
    yield {"name": "Example heater", "kind": "heater", "heat_kw": "3", "hold_c": "20"}


def _packs(company: Company) -> Iterator[Row]:
    """Give packs of a compound that the company has, and of a tape."""
    names = Compound.objects.filter(company=company).order_by("pk").values_list("name", flat=True)
    bought = {"packs": "5; 20", "prices": "950 2450", "lead_days": "2", "awaited": "no"}
    if name := next((name for name in names if not name.startswith(FORMULA_SIGNS)), None):
        yield {"name": name, **bought, "opened_days": "60"}
    tape = {"kind": SupplyKind.PAPER_TAPE.value, "packs": "75; 150", "prices": "310 560"}
    yield {"name": "Example paper tape", **tape, "lead_days": "1", "used_per_unit": "1.1"}
