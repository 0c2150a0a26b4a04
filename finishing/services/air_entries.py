"""Hours of air as another program sends them: a list of objects.

Each has "at" (an ISO 8601 time with an offset or Z), "humidity_percent", and "temperature_c" or,
in all of them, "temperature_f". They are held to what holds for a file (air_sheet.py). Places of
faults are JSON pointers (RFC 6901) as URI fragments: "#/3/humidity_percent".
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from finishing.models import AirSource
from finishing.services.air import Reading
from finishing.services.air_sheet import AirFormat, air_of_sheet
from finishing.services.csv_files import Sheet
from finishing.services.errors import Fault, InputFaults
from finishing.services.local_times import LocalTimeError, read_local

CELSIUS, FAHRENHEIT = "temperature_c", "temperature_f"
LARGEST_NUMBER = 1e6
LONGEST_TIME = 40
_NAMES = {"time": "at", "humidity": "humidity_percent"}


@dataclass(slots=True)
class _EntryList(Sheet):
    """Entries as the rows of a sheet, whose lines are their places from 0 on."""

    def place(self, line: int, column: str = "") -> str:
        return f"#/{line}" + (f"/{_NAMES.get(column, column)}" if column else "")

    def nth(self, line: int) -> str:
        return f"#/{line}"

    def _at(self, line: int, column: str, text: str) -> Fault:
        return Fault(self.place(line, column), text)  # which is of no file's line


def read_air_entries(
    entries: Any, *, kind: AirSource.Kind, holes: bool = False
) -> dict[datetime, Reading]:
    """Return readings by UTC hour; raise InputFaults with all that is wrong, by entry.

    A logger's entries are at any minute, an hour takes their mean; others are on the hour. holes:
    hours may be missing between the first and the last.
    """
    if not isinstance(entries, list) or not entries:
        raise InputFaults([Fault("#", "is not a list of at least one hour")])
    is_fahrenheit = any(isinstance(entry, dict) and FAHRENHEIT in entry for entry in entries)
    column = FAHRENHEIT if is_fahrenheit else CELSIUS
    sheet = _EntryList("", ",", ("time", column, "humidity"), [])
    for number, entry in enumerate(entries):
        if row := _row(sheet, number, entry, column):
            sheet.rows.append((number, row))
    if not sheet.rows:
        sheet.raise_faults()
    unread = len(sheet.rows) < len(entries)  # hours that seem to be missing may be among those
    file_format = AirFormat(source="", kind=kind, holes=holes or unread)
    (readings,) = air_of_sheet(sheet, file_format).values()
    return readings


def _row(sheet: Sheet, number: int, entry: Any, column: str) -> dict[str, str] | None:
    """Return an entry's cells; None, with its faults noted, where they are not of their types."""
    if not isinstance(entry, dict):
        sheet.fault(number, "", "is not an object")
        return None
    known = ("at", column, "humidity_percent")
    for key in entry.keys() - known:
        said = f"{key[:LONGEST_TIME]!r} is not known here: every hour has {', '.join(known)}"
        sheet.fault(number, "", said)
    faults = {
        "time": _time_fault(entry),
        column: number_fault(entry, column),
        "humidity": number_fault(entry, "humidity_percent"),
    }
    for name, fault in faults.items():
        if fault:
            sheet.fault(number, name, fault)
    if any(faults.values()):
        return None
    return {
        "time": entry["at"],
        column: _plain(entry[column]),
        "humidity": _plain(entry["humidity_percent"]),
    }


def _plain(value: float) -> str:
    """Return a number as a cell holds it, without an exponent."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def number_fault(entry: Mapping[str, Any], name: str) -> str:
    """Say why an entry's value is no number; "" where it is one."""
    value = entry.get(name)
    if value is None:
        return "is missing"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "is not a number"
    if not abs(value) <= LARGEST_NUMBER:  # not so of NaN; a whole number may be too large to float
        return "is no number that air can have"
    return ""


def _time_fault(entry: Mapping[str, Any]) -> str:
    try:
        moment_of_entry(entry)
    except LocalTimeError as error:
        return str(error)
    return ""


def moment_of_entry(entry: Mapping[str, Any]) -> datetime:
    """Return the moment of an entry; raise LocalTimeError where it has none, or no offset."""
    value = entry.get("at")
    if value is None:
        raise LocalTimeError("is missing")
    if not isinstance(value, str) or len(value) > LONGEST_TIME:
        raise LocalTimeError("is not a time written as 2026-03-02T15:00Z")
    moment = read_local(value)
    if moment.tzinfo is None:
        raise LocalTimeError(f"{value!r} has neither an offset nor a Z")
    return moment
