"""air.csv: a row per hour with its temperature and relative humidity.

Columns: time (2026-03-02T14:00Z, or local), temperature_c or temperature_f (or temperature, where
the unit is given beside the file), humidity in percent, and station where a file has several.
A station's times are on the hour as written; in a zone half an hour off, a reading counts for the
UTC hour it falls into. A logger's are at any minute: an hour takes the mean of those that fall
into it. Local times at the end of summer time happen twice: first the earlier, then the later.
Nothing is invented: an hour missing between the first and the last is a fault, unless the file is
said to have holes; those stay holes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import fmean
from zoneinfo import ZoneInfo

from finishing.models import AirSource
from finishing.rules.units import celsius_from_fahrenheit
from finishing.services.air import Reading
from finishing.services.air_limits import (
    COLDEST_C,
    FRACTIONS,
    HOTTEST_C,
    are_fractions,
    fahrenheit_mean,
)
from finishing.services.cells import Cells, cells_of_row
from finishing.services.csv_files import Sheet
from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import (
    LocalTimeError,
    TwiceError,
    both_utc_of,
    read_local,
    utc_of,
)
from finishing.services.sheets import Content, read_sheet

TEMPERATURES = ("temperature_c", "temperature_f", "temperature")
REQUIRED = ("time", "humidity")
OPTIONAL = (*TEMPERATURES, "station")
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class AirFormat:
    """What the file itself does not say: the zone of local times, the unit, whose air it is."""

    source: str
    zone: ZoneInfo | None = None
    unit: str = ""
    """"C" or "F", for a column that is just called temperature."""
    kind: AirSource.Kind | None = None
    holes: bool = False


@dataclass(frozen=True, slots=True)
class _Row:
    """A reading at its UTC moment, which is the hour itself for a station's."""

    cells: Cells
    source: str
    moment: datetime
    reading: Reading | None

    @property
    def hour(self) -> datetime:
        return _hour_of(self.moment)


def read_air(
    *, name: str, content: Content, file_format: AirFormat
) -> dict[str, dict[datetime, Reading]]:
    """Read the hours of each source; raise InputFaults with all that is wrong in the file."""
    sheet = read_sheet(name=name, content=content, required=REQUIRED, optional=OPTIONAL)
    return air_of_sheet(sheet, file_format)


def air_of_sheet(sheet: Sheet, file_format: AirFormat) -> dict[str, dict[datetime, Reading]]:
    """Return the hours of each source in a sheet; raise InputFaults with all that is wrong."""
    column, unit = _temperature_column(sheet, file_format)
    rows = list(_rows(sheet, column, unit, file_format))
    if not rows and not sheet.has_faults:
        sheet.fault(sheet.rows[0][0], "", "from here on no hour has a value")
    for source in dict.fromkeys(row.source for row in rows):
        of_source = [row for row in rows if row.source == source]
        _check_units(sheet, of_source, column, unit)
        if not file_format.holes:
            _check_gaps(sheet, of_source)
    sheet.raise_faults()
    found: dict[str, dict[datetime, list[Reading]]] = {}
    for row in rows:
        if row.reading is not None:
            found.setdefault(row.source, {}).setdefault(row.hour, []).append(row.reading)
    return {
        source: {hour: _mean(readings) for hour, readings in hours.items()}
        for source, hours in found.items()
    }


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
    moments: dict[str, list[datetime]] = {}
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        source = cells.text("station") or file_format.source
        is_hole = file_format.holes and not (cells.text(column) and cells.text("humidity"))
        reading = (_half_reading if is_hole else _reading)(cells, column, unit)
        either = (_hole_moments if is_hole else _moments)(cells, file_format)
        if either is None:
            continue
        free = [moment for moment in either if (source, moment) not in seen]
        moment = _next_of(free or either[1:], moments.setdefault(source, []))
        moments[source].append(moment)
        if is_hole:
            continue
        if (source, moment) in seen:
            before = sheet.nth(seen[source, moment])
            cells.fault("time", f"{moment:%Y-%m-%d %H:%MZ} is already on {before}")
            continue
        seen[source, moment] = line
        yield _Row(cells, source, moment, reading)


def _moments(cells: Cells, file_format: AirFormat) -> tuple[datetime, datetime] | None:
    """Return the UTC moments that a row may be of; None, with the fault noted, for none."""
    text = cells.required("time")
    if not text:
        return None
    try:
        if file_format.zone is None and read_local(text).tzinfo is None:
            _ask_for_zone(cells.sheet)
            return None
        return _moments_of(text, file_format)
    except LocalTimeError as error:
        cells.fault("time", str(error))
        return None


def _hole_moments(cells: Cells, file_format: AirFormat) -> tuple[datetime, datetime] | None:
    """Return the UTC moments of a row without a value, whose time need be none that there is: of
    two rows of an hour that comes twice, it may be the one that tells which the other is."""
    text = cells.text("time")
    try:
        read_local(text)
    except LocalTimeError as error:
        if text:
            cells.fault("time", str(error))
        return None
    try:
        return _moments_of(text, file_format)
    except LocalTimeError:
        return None


def _moments_of(text: str, file_format: AirFormat) -> tuple[datetime, datetime]:
    """Return the UTC moments that a time may stand for, the earlier first (of a station, the hours
    they fall into): twice the same, but where the clock goes back. Raises LocalTimeError."""
    local, is_logger = read_local(text), file_format.kind is AirSource.Kind.LOGGER
    if not is_logger and local != _hour_of(local):
        raise LocalTimeError(f"{text!r} is not on the hour")
    first, second = _both(local, file_format.zone or ZoneInfo("UTC"))
    return (first, second) if is_logger else (_hour_of(first), _hour_of(second))


def _next_of(moments: Sequence[datetime], before: Sequence[datetime]) -> datetime:
    """Return which of the moments (the earlier first) a row is of: the one that goes on from the
    rows before it, whether the file begins with the oldest or with the newest."""
    if not before or len(moments) == 1:
        return moments[0]
    if len(before) > 1 and before[-1] < before[-2]:
        return max((at for at in moments if at < before[-1]), default=moments[0])
    return min((at for at in moments if at > before[-1]), default=moments[-1])


def _ask_for_zone(sheet: Sheet) -> None:
    """Note it once for the whole file, not for each of its hours."""
    first_line = sheet.rows[0][0]
    sheet.fault(first_line, "time", "times without an offset or Z: say their zone with --zone")


def _both(local: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the UTC instants of a local time: twice the same, but where the clock goes back."""
    try:
        instant = utc_of(local, zone)
    except TwiceError:
        return both_utc_of(local, zone)
    return instant, instant


def _hour_of(moment: datetime) -> datetime:
    return moment.replace(minute=0, second=0, microsecond=0)


def _mean(readings: Sequence[Reading]) -> Reading:
    return Reading(
        round(fmean(reading.temperature_c for reading in readings), 2),
        round(fmean(reading.humidity for reading in readings), 4),
    )


def _reading(cells: Cells, column: str, unit: str) -> Reading | None:
    cells.required(column)
    cells.required("humidity")
    temperature_c = _temperature_c(cells, column, unit)
    percent = cells.number("humidity", least=0, most=100)
    if temperature_c is None or percent is None:
        return None
    return Reading(round(temperature_c, 2), round(percent / 100, 4))


def _half_reading(cells: Cells, column: str, unit: str) -> None:
    """Find what is wrong with the one figure of an hour that lacks the other."""
    _temperature_c(cells, column, unit)
    cells.number("humidity", least=0, most=100)


def _temperature_c(cells: Cells, column: str, unit: str) -> float | None:
    temperature = cells.number(column)
    if temperature is None:
        return None
    temperature_c = celsius_from_fahrenheit(temperature) if unit == "F" else temperature
    if COLDEST_C <= temperature_c <= HOTTEST_C:
        return temperature_c
    hint = " (is it Fahrenheit?)" if unit == "C" and temperature_c > 0 else ""
    cells.fault(column, f"{temperature:g} {unit} cannot be the air of a place{hint}")
    return None


def _check_units(sheet: Sheet, rows: list[_Row], column: str, unit: str) -> None:
    """Tell fractions from percent and Fahrenheit from Celsius by all the values of a station
    together; among percents, a fraction stands out alone."""
    readings = [row.reading for row in rows if row.reading is not None]
    celsius = [reading.temperature_c for reading in readings]
    percents = [reading.humidity * 100 for reading in readings]
    line = rows[0].cells.line
    if are_fractions(percents):
        sheet.fault(line, "humidity", FRACTIONS)
    else:
        for row in rows:
            if row.reading is not None and 0 < row.reading.humidity * 100 < 1:
                row.cells.fault("humidity", f"{row.cells.text('humidity')} {FRACTIONS}")
    mean = fahrenheit_mean(celsius, percents)
    if unit == "C" and mean:
        sheet.fault(line, column, mean)


def _check_gaps(sheet: Sheet, rows: list[_Row]) -> None:
    for before, after in pairwise(sorted(rows, key=lambda row: row.moment)):
        missing = round((after.hour - before.hour) / HOUR) - 1
        if missing > 0:
            first, last = before.hour + HOUR, after.hour - HOUR
            hours = "1 hour" if missing == 1 else f"{missing} hours"
            sheet.fault(
                after.cells.line,
                "time",
                f"{hours} missing before this one: {first:%Y-%m-%d %H:%MZ} to "
                f"{last:%Y-%m-%d %H:%MZ}",
            )
