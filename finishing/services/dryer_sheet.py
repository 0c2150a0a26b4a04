"""dryers.csv: a row for each kind of dehumidifier or heater at a place."""

from math import isclose

from finishing.models import Company, Dryer, House
from finishing.rules.cold import LEAST_HOLD_C, TEMPORARY_HEAT_C
from finishing.rules.dryers import relative_removal
from finishing.rules.vocabulary import DryerKind
from finishing.services.cells import Cells, cells_of_row
from finishing.services.dryers import DryerEntry
from finishing.services.sheet_lookups import named_in
from finishing.services.sheets import Content, read_sheet

REQUIRED = ("name", "kind")
OPTIONAL = (
    "count",
    "litres_per_day",
    "rated_c",
    "rated_humidity",
    "hold_humidity",
    "least_c",
    "tank_l",
    "heat_kw",
    "hold_c",
    "flame",
    "cost_per_day",
    "place",
    "house",
    "move_minutes",
)
MOST_COST = 10_000_000
"""A day, in minor units."""
PERCENT_FROM = 1.0
"""Humidity at or below this is a fraction typed where percent is asked for."""


def read_dryers(*, name: str, content: Content, company: Company) -> tuple[DryerEntry, ...]:
    """Read the dryers of a file; raise InputFaults with all that is wrong in it."""
    sheet = read_sheet(name=name, content=content, required=REQUIRED, optional=OPTIONAL)
    houses = {row.name: row for row in House.objects.filter(company=company)}
    found: dict[str, DryerEntry] = {}
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        entry = _dryer(cells, houses, company)
        if entry.name in found:
            cells.fault("name", f"{entry.name!r} is there twice")
        found[entry.name] = entry
    sheet.raise_faults()
    return tuple(found.values())


def _dryer(cells: Cells, houses: dict[str, House], company: Company) -> DryerEntry:
    usual = Dryer()
    if not cells.text("kind"):
        cells.fault("kind", "must not be blank")
    kind = cells.choice("kind", DryerKind)
    rated_c = _or(cells.number("rated_c", least=-20, most=60), usual.rated_c)
    rated_humidity = _or(_humidity(cells, "rated_humidity"), usual.rated_humidity)
    if not relative_removal(rated_c, rated_humidity) > 0:
        cells.fault("rated_humidity", "no dryer takes water out of air that is so cold and dry")
    return DryerEntry(
        name=cells.required("name"),
        kind=kind or DryerKind.DEHUMIDIFIER,
        count=_or(cells.whole("count", least=1), usual.count),
        litres_per_day=_rating(cells, "litres_per_day", needed=kind is DryerKind.DEHUMIDIFIER),
        rated_c=rated_c,
        rated_humidity=rated_humidity,
        hold_humidity=_or(_humidity(cells, "hold_humidity"), usual.hold_humidity),
        least_c=_or(cells.number("least_c", least=-30, most=40), usual.least_c),
        tank_l=cells.number("tank_l", above=0),
        heat_kw=_rating(cells, "heat_kw", needed=kind is DryerKind.HEATER),
        hold_c=_or(cells.number("hold_c", least=LEAST_HOLD_C, most=TEMPORARY_HEAT_C), usual.hold_c),
        flame=bool(cells.yes("flame")),
        cost_per_day=_cost(cells, company.currency_digits),
        place=cells.text("place"),
        house=named_in(cells, "house", houses),
        move_minutes=_or(cells.whole("move_minutes"), usual.move_minutes),
    )


def _rating(cells: Cells, column: str, *, needed: bool) -> float:
    """Read what a unit can do: its own kind cannot do without."""
    value = cells.number(column, above=0) if needed else cells.number(column, least=0)
    if needed and not cells.text(column):
        cells.fault(column, f"a {cells.text('kind')} needs it")
    return value or 0.0


def _humidity(cells: Cells, column: str) -> float | None:
    """Read percent as a fraction."""
    percent = cells.number(column, above=0, most=100)
    if percent is not None and percent <= PERCENT_FROM:
        cells.fault(column, f"{cells.text(column)} is a fraction: write percent, such as 60")
        return None
    return None if percent is None else percent / 100


def _cost(cells: Cells, digits: int) -> int:
    """Read money as minor units. digits: of the minor unit of the company's currency, 0 where it
    has none."""
    unit = int(10**digits)
    money = cells.number("cost_per_day", least=0, most=MOST_COST / unit)
    minor = (money or 0) * unit
    if not isclose(minor, round(minor), abs_tol=1e-6):
        said = (
            f"{digits} digits after the point" if digits else "no minor unit: write whole figures"
        )
        cells.fault("cost_per_day", f"{cells.text('cost_per_day')}: the currency has {said}")
    return round(minor)


def _or[T](value: T | None, usual: T) -> T:
    return usual if value is None else value
