"""A good row with some of its cells spoiled: each of those is named, whatever the others say."""

import csv
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from io import StringIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import AirSource, Company
from finishing.services.air import put_air_source
from finishing.services.air_sheet import AirFormat, read_air
from finishing.services.companies import start_company
from finishing.services.crew_sheet import read_crews
from finishing.services.dryer_sheet import read_dryers
from finishing.services.errors import InputFaults
from finishing.services.house_sheet import OPTIONAL, REQUIRED, read_houses
from finishing.services.pack_sheet import read_packs
from finishing.services.sheet_lookups import Lookups
from finishing.services.sheets import Content
from finishing.services.site_sheet import read_sites
from tests.examples import examples
from tests.factories import make_house

pytestmark = pytest.mark.django_db

BAD = "?!"
UNSEEN = "a\ab"
"""What no text may have."""
type Row = Mapping[str, str]
type Read = Callable[[str, Content, Company], Any]


@dataclass(frozen=True)
class Good:
    """A row that is in order. texts: columns of free text, which only UNSEEN spoils. decide: those
    that say what others are; without: by column, the one without which nobody can tell that it is
    spoiled. spoiled: by column, what spoils others than BAD does."""

    read: Read
    row: Row
    texts: Collection[str] = ()
    decide: Collection[str] = ()
    without: Row = field(default_factory=dict)
    spoiled: Row = field(default_factory=dict)

    def bad(self, column: str) -> str:
        return self.spoiled.get(column, UNSEEN if column in self.texts else BAD)

    def known(self, spoilt: Iterable[str], row: Row) -> set[str]:
        """Return which of the cells that are spoilt in a row can be known to be."""
        good = {column for column in row if row[column] == self.row[column]}
        return {one for one in spoilt if one not in self.without or self.without[one] in good}


def site_row(row: Row, *texts: str) -> Good:
    return Good(of_site, row, texts, ("house", "what"), {"item": "what", "area": "house"})


def of_houses(name: str, content: Content, company: Company) -> Any:
    return read_houses(name=name, content=content, lookups=Lookups.of(company))


def of_air(name: str, content: Content, _company: Company) -> Any:
    how = AirFormat(source="Roof", zone=ZoneInfo("Europe/Dublin"), holes=True)
    return read_air(name=name, content=content, file_format=how)


def of_crews(name: str, content: Content, company: Company) -> Any:
    return read_crews(name=name, content=content, company=company)


def of_site(name: str, content: Content, company: Company) -> Any:
    return read_sites(name=name, content=content, company=company)


def of_dryers(name: str, content: Content, company: Company) -> Any:
    return read_dryers(name=name, content=content, company=company)


def of_packs(name: str, content: Content, company: Company) -> Any:
    return read_packs(name=name, content=content, company=company)


HOUSE = {
    "house": "Mill", "handover": "2026-03-20", "address": "A lane", "zone": "Europe/Dublin",
    "latitude": "53.3", "longitude": "-6.2", "opens": "2026-03-02", "weight": "2",
    "access": "mon-fri 07:00-17:00", "heated_to_c": "18", "heated_from": "2026-03-01",
    "heater_kw": "5", "shell": "open", "closed_from": "2026-03-10", "volume_m3": "300",
    "air_changes": "0.5", "air": "Roof", "system": "All-purpose drying",
    "corner_tool": "flat_knife", "old_joints": "no", "fire_rated": "no", "flame_heater": "no",
    "area": "Ground", "floor": "0", "area_handover": "2026-03-18",
    "area_system": "All-purpose drying", "last_stage": "tape", "last_compound": "",
    "last_ended": "2026-03-02 15:30", "last_by": "Joe", "room": "Hall", "kind": "room",
    "length_m": "5", "width_m": "4", "height_m": "2.4", "edge": "square_set", "boards": "along",
    "openings": "0.9x2.1", "surface": "walls", "family": "", "level": "4", "critical_light": "no",
    "wet_area": "no", "tiled_later": "no", "plastic_beads": "no",
}  # fmt: skip
OF_HOUSES = ("house", "address", "area", "floor", "last_by", "room")
MEASURED = {
    "takeoff": "measured", "tapered_m": "12", "butt_m": "2", "internal_m": "9", "external_m": "3",
    "fasteners": "80", "area_m2": "30", "cornice_m": "",
}  # fmt: skip
CREW = {
    "crew": "North", "member": "Joe", "skills": "all", "hours": "mon-fri 07:00-15:30",
    "zone": "Europe/Dublin", "from": "2026-03-01", "to": "2026-12-01", "days_off": "2026-05-04",
    "crew_days_off": "2026-05-05", "email": "joe@example.org", "crew_email": "n@example.org",
}  # fmt: skip
DRYER = {
    "name": "Big", "kind": "dehumidifier", "count": "2", "litres_per_day": "30", "rated_c": "26",
    "rated_humidity": "60", "hold_humidity": "45", "least_c": "5", "tank_l": "20", "heat_kw": "1",
    "hold_c": "20", "flame": "no", "cost_per_day": "12.50", "place": "Store",
    "house": "Mill Cottage", "move_minutes": "15",
}  # fmt: skip
PACK = {
    "name": "Sheets", "packs": "50; 100", "kind": "sandpaper", "prices": "900; 1500",
    "lead_days": "3", "used_per_unit": "0.04", "awaited": "no",
}  # fmt: skip
READY = {
    "house": "Mill Cottage", "what": "ready", "item": "heat", "done": "no", "on": "2026-03-05",
    "owed_by": "Builder",
}  # fmt: skip
CLOSED = {
    "house": "Mill Cottage", "what": "closed", "area": "Ground floor", "from": "2026-03-09",
    "to": "2026-03-11", "note": "screed",
}  # fmt: skip
JOB = {
    "house": "Mill Cottage", "what": "odd_job", "item": "Patch", "minutes": "120",
    "skill": "odd_jobs", "done": "no",
}  # fmt: skip
AIR = {"time": "2026-03-02 10:00", "temperature_c": "8", "humidity": "80", "station": "Roof"}
DECIDE = ("house", "area", "room", "surface", "takeoff", "level", "last_stage")
GOOD = {
    "a house, measured": Good(of_houses, {**HOUSE, **MEASURED}, OF_HOUSES, DECIDE),
    "a house, from its rooms": Good(
        of_houses,
        {**HOUSE, "takeoff": "rooms", "area_m2": "30", "cornice_m": "4"},
        OF_HOUSES,
        DECIDE,
    ),
    "a house, by averages": Good(
        of_houses,
        {**HOUSE, "takeoff": "rough", "area_m2": "30", "cornice_m": "4"},
        OF_HOUSES,
        DECIDE,
        spoiled={"area_m2": "-3"},
    ),
    "a crew": Good(of_crews, CREW, ("crew", "member"), ("crew",)),
    "a dryer": Good(of_dryers, DRYER, ("name", "place"), ("kind",)),
    "packs": Good(of_packs, PACK, ("name",), ("kind",)),
    "what is ready": site_row(READY, "owed_by"),
    "what is closed": site_row(CLOSED, "note"),
    "an odd job": site_row(JOB, "item"),
    "air": Good(of_air, AIR, ("station",), ("time",)),
}


@pytest.fixture
def company() -> Company:
    company = start_company(name="Test Finishing", zone="Europe/Dublin")
    put_air_source(company=company, name="Roof", kind=AirSource.Kind.STATION)
    make_house(company)
    return company


def as_csv(row: Row) -> bytes:
    text = StringIO()
    table = csv.DictWriter(text, list(row))
    table.writeheader()
    table.writerow(row)
    return text.getvalue().encode()


def named(good: Good, content: Content, company: Company) -> set[str]:
    """Return the columns of the faults that are found in a file of one row."""
    with pytest.raises(InputFaults) as caught:
        good.read("file.csv", content, company)
    places = [fault.place for fault in caught.value.faults]
    assert all(place.startswith(("file.csv line 2", "#/0")) for place in places)
    return {place.rpartition(", column ")[2].removeprefix("#/0/") for place in places}


def spoiled(good: Good, columns: Collection[str]) -> dict[str, str]:
    return {**good.row, **{column: good.bad(column) for column in columns}}


@pytest.mark.parametrize("kind", GOOD)
def test_a_row_that_is_in_order_has_no_fault(kind: str, company: Company) -> None:
    good = GOOD[kind]
    assert good.read("file.csv", as_csv(good.row), company)
    assert good.read("file.csv", [dict(good.row)], company)


@pytest.mark.parametrize("kind", GOOD)
def test_whatever_is_spoiled_or_blank_all_else_that_is_spoiled_is_named(
    kind: str, company: Company
) -> None:
    good = GOOD[kind]
    for one in good.row:
        others = [column for column in good.row if column not in {one, *good.decide}]
        row = spoiled(good, others)
        for value in (good.row[one], good.bad(one), ""):
            found = named(good, as_csv(row | {one: value}), company)
            assert found >= good.known(others, row | {one: value}), (one, value)


@pytest.mark.parametrize("kind", GOOD)
def test_all_cells_that_are_spoiled_at_once_are_named(kind: str, company: Company) -> None:
    good = GOOD[kind]
    row = spoiled(good, list(good.row))
    for content in (as_csv(row), [row]):
        assert named(good, content, company) >= good.known(good.row, row)


@given(kind=st.sampled_from(list(GOOD)), data=st.data())
@examples(60, soak=5000)
def test_any_few_cells_that_are_spoiled_are_named(kind: str, data: Any, company: Company) -> None:
    good = GOOD[kind]
    some = st.lists(st.sampled_from(list(good.row)), unique=True)
    blank = data.draw(some.filter(lambda columns: len(columns) <= 1))
    spoil = [one for one in data.draw(some.filter(lambda columns: columns)) if one not in blank]
    if spoil:
        row = spoiled(good, spoil) | dict.fromkeys(blank, "")
        assert named(good, as_csv(row), company) >= good.known(spoil, row)


def test_the_rows_of_houses_have_every_column() -> None:
    """So that a column that is new is tried too."""
    assert {*HOUSE, *MEASURED} == {*REQUIRED, *OPTIONAL}
