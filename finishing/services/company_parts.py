"""What a company plans with besides its houses, as values that can be compared and logged."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from finishing.models import (
    BuilderLine,
    Change,
    Company,
    Compound,
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    Dryer,
    ExtraHours,
    Holiday,
    JointingSystem,
    LabourRate,
    Loan,
    PayTerm,
    PlacingRate,
    Price,
    StockLine,
    Supply,
)
from finishing.models.owned import Row
from finishing.rules.hours import WEEKDAYS
from finishing.services.builder_lines import FIELDS as LINE_FIELDS
from finishing.services.changes import values_of
from finishing.services.company_settings import SETTINGS
from finishing.services.compounds import COMPOUND_FIELDS, SYSTEM_FIELDS
from finishing.services.day_stretches import DayRow, stretches_of

What = Change.What

CREW_FIELDS = ("name", "zone", "language", "units", "email", "is_active")
MEMBER_FIELDS = ("name", "email", "skills", "from_day", "to_day")
PRICE_FIELDS = ("amount", "since")
DRYER_FIELDS = (
    *("kind", "count", "litres_per_day", "rated_c", "rated_humidity", "hold_humidity", "least_c"),
    *("tank_l", "heat_kw", "hold_c", "flame", "cost_per_day", "move_minutes", "place", "house"),
    "is_active",
)
RATE_FIELDS = ("minutes", "source", "dated")
PLACING_FIELDS = ("litres_per_hour", "source", "dated")
SUPPLY_FIELDS = (
    "name",
    "packs",
    "pack_prices",
    "used_per_unit",
    "lead_days",
    "awaited",
)
STOCK_FIELDS = ("pack_size", "packs", "arrives_on", "counted_on")


class Part(NamedTuple):
    """A row, or rows that are edited as one. key: what tells it from others of its kind; place:
    what it is called; values: its fields by name."""

    key: str
    place: str
    values: Mapping[str, Any]


def parts_of(company: Company, what: Change.What) -> Iterable[Part]:
    """Return all parts of a kind, in a fixed number of queries."""
    return _READERS[what](company)


def _row(row: Row, place: str, names: Iterable[str]) -> Part:
    return Part(str(row.public_id), place, values_of(row, names))


def _settings(company: Company) -> Iterator[Part]:
    yield _row(Company.objects.get(pk=company.pk), "", SETTINGS)


def _compounds(company: Company) -> Iterator[Part]:
    for row in Compound.objects.filter(company=company):
        yield _row(row, row.name, COMPOUND_FIELDS)


def _systems(company: Company) -> Iterator[Part]:
    rows = JointingSystem.objects.filter(company=company)
    for row in rows.prefetch_related("stage_rows__compound"):
        stages = {f"stage_{one.stage}": one.compound for one in row.stage_rows.all()}
        of_row = _row(row, row.name, SYSTEM_FIELDS)
        yield of_row._replace(values={**of_row.values, **stages})


def _rates(company: Company) -> Iterator[Part]:
    for row in LabourRate.objects.filter(company=company):
        yield _row(row, f"{row.stage}:{row.kind}", RATE_FIELDS)


def _placing_rates(company: Company) -> Iterator[Part]:
    for row in PlacingRate.objects.filter(company=company):
        yield _row(row, row.stage, PLACING_FIELDS)


def _supplies(company: Company) -> Iterator[Part]:
    for row in Supply.objects.filter(company=company):
        yield _row(row, row.name, SUPPLY_FIELDS)


def _stock(company: Company) -> Iterator[Part]:
    for row in StockLine.objects.filter(company=company).select_related("compound", "supply"):
        yield _row(row, str(row), STOCK_FIELDS)


def _prices(company: Company) -> Iterator[Part]:
    for row in Price.objects.filter(company=company).select_related("crew", "house"):
        owner = row.crew or row.house
        yield _row(row, f"{row.kind}:{owner.name if owner else ''}", PRICE_FIELDS)


def _pay_terms(company: Company) -> Iterator[Part]:
    """Yield agreements; one that becomes somebody else's counts as another."""
    for row in PayTerm.objects.filter(company=company).select_related("crew"):
        place = f"{row.stage}:{row.crew or row.person}"
        yield Part(f"{row.public_id}:{place}", place, values_of(row, PRICE_FIELDS))


def _builder_lines(company: Company) -> Iterator[Part]:
    for row in BuilderLine.objects.filter(company=company).select_related("house"):
        yield _row(row, row.house.name, LINE_FIELDS)


def _dryers(company: Company) -> Iterator[Part]:
    for row in Dryer.objects.filter(company=company).select_related("house"):
        yield _row(row, row.name, DRYER_FIELDS)


def _holidays(company: Company) -> Iterator[Part]:
    for row in Holiday.objects.filter(company=company):
        yield _row(row, row.name, ("name", "day"))


def _crews(company: Company) -> Iterator[Part]:
    for row in Crew.objects.filter(company=company):
        yield _row(row, row.name, CREW_FIELDS)


def _members(company: Company) -> Iterator[Part]:
    for row in CrewMember.objects.filter(company=company).select_related("crew"):
        yield _row(row, f"{row.crew}, {row.name}", MEMBER_FIELDS)


def _crew_hours(company: Company) -> Iterator[Part]:
    """Yield the week of each crew, its windows by day."""
    weeks: dict[Crew, dict[str, list[str]]] = {}
    for row in CrewHours.objects.filter(company=company).select_related("crew"):
        spans = weeks.setdefault(row.crew, {}).setdefault(WEEKDAYS[row.weekday], [])
        spans.append(f"{row.start:%H:%M}-{row.end:%H:%M}")
    for crew, days in weeks.items():
        yield Part(crew.name, crew.name, {day: " ".join(spans) for day, spans in days.items()})


def _stretches[R: DayRow](
    rows: Iterable[R], names: tuple[str, ...], place: Callable[[R], str]
) -> Iterator[Part]:
    """Yield days in a row that say the same as one part."""

    def says(row: R) -> tuple[Any, ...]:
        return place(row), *(getattr(row, name) for name in names)

    for key, one in stretches_of(rows, says).items():
        days = {"first_day": one.first_day, "last_day": one.last_day}
        first = one.rows[0]
        yield Part(str(key), place(first), {**days, **values_of(first, names)})


def _days_off(company: Company) -> Iterable[Part]:
    rows = DayOff.objects.filter(company=company).select_related("crew", "member")
    return _stretches(rows, ("reason",), lambda row: ", ".join(map(str, _who(row))))


def _who(row: DayOff) -> tuple[object, ...]:
    return (row.crew, row.member) if row.member else (row.crew,)


def _extra_hours(company: Company) -> Iterable[Part]:
    rows = ExtraHours.objects.filter(company=company).select_related("crew")
    return _stretches(rows, ("start", "end"), lambda row: row.crew.name)


def _loans(company: Company) -> Iterable[Part]:
    rows = Loan.objects.filter(company=company).select_related("crew", "member__crew")
    return _stretches(rows, ("crew",), lambda row: f"{row.member.crew}, {row.member}")


_READERS: Mapping[Change.What, Callable[[Company], Iterable[Part]]] = {
    What.SETTINGS: _settings,
    What.COMPOUND: _compounds,
    What.SYSTEM: _systems,
    What.RATE: _rates,
    What.PLACING: _placing_rates,
    What.SUPPLY: _supplies,
    What.STOCK: _stock,
    What.PRICE: _prices,
    What.PAY: _pay_terms,
    What.BUILDER_LINE: _builder_lines,
    What.DRYER: _dryers,
    What.HOLIDAY: _holidays,
    What.CREW: _crews,
    What.MEMBER: _members,
    What.CREW_HOURS: _crew_hours,
    What.DAY_OFF: _days_off,
    What.EXTRA_HOURS: _extra_hours,
    What.LOAN: _loans,
}
