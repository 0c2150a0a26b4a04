"""One day off, one day's extra hours or one day of a loan: changed or taken back by itself."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from finishing.models import DayOff, ExtraHours, Loan
from finishing.services.crew_days import (
    days_off_faults,
    days_off_of,
    extra_hours_faults,
    extra_hours_of,
    loan_faults,
    loans_of,
)
from finishing.services.day_stretches import DayRow, StretchLine
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import change_row, remove_row

NAMES: Mapping[type[DayRow], tuple[str, ...]] = {
    DayOff: ("member", "reason"),
    ExtraHours: ("start", "end"),
    Loan: ("member", "crew"),
}
"""What a row says besides its day."""


@transaction.atomic
def change_day(*, row: DayRow, version: int, values: Mapping[str, Any]) -> None:
    """Set some of what a row says of its day; the day stays.

    Raises InputFaults (places: ``row-field``), ValidationError, and StaleRowsError.
    """
    if faults := list(day_faults(row, values)):
        raise InputFaults(faults)
    change_row(row, version=version, values=values)


@transaction.atomic
def remove_day(*, row: DayRow, version: int) -> None:
    """Take a day back. Raises StaleRowsError."""
    remove_row(row, version=version)


def day_faults(row: DayRow, values: Mapping[str, Any]) -> Iterable[Fault]:
    """Return what is wrong with a row's day if it said this, beside all other days."""
    stands = {name: getattr(row, name) for name in NAMES[type(row)]}
    lines = [StretchLine("row", row.day, row.day, {**stands, **values})]
    if isinstance(row, DayOff):
        return days_off_faults(row.crew, lines, days_off_of(row.crew, but=row))
    if isinstance(row, ExtraHours):
        return extra_hours_faults(lines, extra_hours_of(row.crew, but=row))
    return loan_faults(lines, loans_of(row.member.crew, but=row))
