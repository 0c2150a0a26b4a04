"""air.csv: a row per hour with its temperature and relative humidity.

Columns: time (2026-03-02T14:00Z, or local), temperature_c or temperature_f (or temperature, where
the unit is given beside the file), humidity in percent, and station where a file has several.
Times are on the hour as written; in a zone half an hour off, a reading counts for the UTC hour
it falls into. Local times at the end of summer time happen twice: first the earlier, then the
later. Nothing is invented: an hour missing between the first and the last is a fault.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import fmean
from zoneinfo import ZoneInfo

from finishing.rules.units import celsius_from_fahrenheit
from finishing.services.air import Reading
from finishing.services.cells import Cells, cells_of_row
from finishing.services.csv_files import Sheet, read_sheet
from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import (
    LocalTimeError,
    TwiceError,
    both_utc_of,
    read_local,
    utc_of,
)

TEMPERATURES = ("temperature_c", "temperature_f", "temperature")
COLDEST_C, HOTTEST_C = -60.0, 60.0
HOTTEST_MEAN_C = 45.0
"""No place on Earth is as hot on average, even for a week: such a mean is Fahrenheit."""
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class AirFormat:
    """What the file itself does not say: the zone of local times, the unit, whose air it is."""

    source: str
    zone: ZoneInfo | None = None
    unit: str = ""
    """"C" or "F", for a column that is just called temperature."""


@dataclass(frozen=True, slots=True)
class _Row:
    cells: Cells
    source: str
    hour: datetime
    reading: Reading | None


def read_air(
    *, name: str, content: bytes, file_format: AirFormat
) -> dict[str, dict[datetime, Reading]]:
    """Read the hours of each source; raise InputFaults with all that is wrong in the file."""
    sheet = read_sheet(
        name=name,
        content=content,
        required=("time", "humidity"),
        optional=(*TEMPERATURES, "station"),
    )
    column, unit = _temperature_column(sheet, file_format)
    rows = list(_rows(sheet, column, unit, file_format))
    _check_units(sheet, rows, column, unit)
    for source in dict.fromkeys(row.source for row in rows):
        _check_gaps(sheet, [row for row in rows if row.source == source])
    sheet.raise_faults()
    found: dict[str, dict[datetime, Reading]] = {}
    for row in rows:
        if row.reading is not None:
            found.setdefault(row.source, {})[row.hour] = row.reading
    return found


def _temperature_column(sheet: Sheet, file_format: AirFormat) -> tuple[str, str]:
    """Return the temperature's column and its unit."""
    columns = [column for column in TEMPERATURES if column in sheet.columns]
    if len(columns) != 1:
        raise InputFaults([Fault(sheet.name, f"one column of {', '.join(TEMPERATURES)} is needed")])
    column = columns[0]
    named = {"temperature_c": "C", "temperature_f": "F"}.get(column, "")
    unit = named or file_format.unit
    if not unit:
        raise InputFaults([Fault(sheet.name, "is the temperature in C or F? Say --unit C or F")])
    if file_format.unit not in {"", unit}:
        text = f"the column is {column}, but the unit is given as {file_format.unit}"
        raise InputFaults([Fault(sheet.name, text)])
    return column, unit


def _rows(sheet: Sheet, column: str, unit: str, file_format: AirFormat) -> Iterator[_Row]:
    seen: dict[tuple[str, datetime], int] = {}
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        source = cells.text("station") or file_format.source
        reading = _reading(cells, column, unit)
        hour = _hour(cells, source, seen, file_format.zone)
        if hour is None:
            continue
        if (source, hour) in seen:
            cells.fault("time", f"{hour:%Y-%m-%d %H:%MZ} is already on line {seen[source, hour]}")
            continue
        seen[source, hour] = line
        yield _Row(cells, source, hour, reading)


def _hour(
    cells: Cells, source: str, seen: dict[tuple[str, datetime], int], zone: ZoneInfo | None
) -> datetime | None:
    """Return the UTC hour of a row."""
    text = cells.required("time")
    if not text:
        return None
    try:
        local = read_local(text)
        if local.tzinfo is None and zone is None:
            _ask_for_zone(cells.sheet)
            return None
        if local.minute or local.second or local.microsecond:
            raise LocalTimeError(f"{text!r} is not on the hour")
        moment = _moment(local, source, seen, zone)
    except LocalTimeError as error:
        cells.fault("time", str(error))
        return None
    return moment.replace(minute=0)


def _ask_for_zone(sheet: Sheet) -> None:
    """Note it once for the whole file, not for each of its hours."""
    first_line = sheet.rows[0][0]
    sheet.fault(first_line, "time", "times without an offset or Z: say their zone with --zone")


def _moment(
    local: datetime,
    source: str,
    seen: dict[tuple[str, datetime], int],
    zone: ZoneInfo | None,
) -> datetime:
    try:
        return utc_of(local, zone or ZoneInfo("UTC"))
    except TwiceError:
        first, second = both_utc_of(local, zone or ZoneInfo("UTC"))
        return second if (source, first.replace(minute=0)) in seen else first


def _reading(cells: Cells, column: str, unit: str) -> Reading | None:
    cells.required(column)
    cells.required("humidity")
    temperature = cells.number(column)
    percent = cells.number("humidity", least=0, most=100)
    if temperature is None:
        return None
    temperature_c = celsius_from_fahrenheit(temperature) if unit == "F" else temperature
    if not COLDEST_C <= temperature_c <= HOTTEST_C:
        hint = " (is it Fahrenheit?)" if unit == "C" and temperature_c > 0 else ""
        cells.fault(column, f"{temperature:g} {unit} cannot be the air of a place{hint}")
        return None
    if percent is None:
        return None
    return Reading(round(temperature_c, 2), round(percent / 100, 4))


def _check_units(sheet: Sheet, rows: list[_Row], column: str, unit: str) -> None:
    """Tell fractions from percent and Fahrenheit from Celsius by all the values together."""
    readings = [row.reading for row in rows if row.reading is not None]
    if not readings:
        return
    line = rows[0].cells.line
    if max(reading.humidity for reading in readings) <= 0.01:
        sheet.fault(line, "humidity", "looks like fractions of 1: write percent, 78 and not 0.78")
    mean_c = fmean(reading.temperature_c for reading in readings)
    if unit == "C" and mean_c > HOTTEST_MEAN_C:
        sheet.fault(line, column, f"the mean is {mean_c:.0f} C: is this Fahrenheit?")


def _check_gaps(sheet: Sheet, rows: list[_Row]) -> None:
    for before, after in pairwise(sorted(rows, key=lambda row: row.hour)):
        missing = round((after.hour - before.hour) / HOUR) - 1
        if missing:
            first, last = before.hour + HOUR, after.hour - HOUR
            hours = "1 hour" if missing == 1 else f"{missing} hours"
            sheet.fault(
                after.cells.line,
                "time",
                f"{hours} missing before this one: {first:%Y-%m-%d %H:%MZ} to "
                f"{last:%Y-%m-%d %H:%MZ}",
            )
