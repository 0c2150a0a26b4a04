"""Public holidays, from the holidays package into rows of the company, and days of its own."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, Holiday
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import (
    StaleRowsError,
    all_or_stale,
    change_row,
    delete_others,
    put_row,
    remove_row,
)


def has_holidays(country: str) -> bool:
    """Return whether public holidays are known for an ISO 3166 code."""
    import holidays  # noqa: PLC0415 - large, and few ask

    return country in holidays.list_supported_countries(include_aliases=False)


@transaction.atomic
def refresh_holidays(*, company: Company, years: Iterable[int]) -> int:
    """Store the public holidays of the company's country in these years; return how many.

    Holidays of these years that the country no longer has are deleted; days of the company's own
    stay, and a company without a country keeps what it has. Raise ValidationError for a country
    that is not known.
    """
    import holidays  # noqa: PLC0415 - large, and few ask

    wanted = sorted(set(years))
    if not company.country or not wanted:
        return 0
    try:
        days = holidays.country_holidays(company.country, years=wanted)
    except NotImplementedError:
        raise ValidationError(f"no public holidays known for {company.country!r}") from None
    stored = Holiday.objects.filter(company=company, day__year__in=wanted)
    own = set(stored.filter(is_own=True).values_list("day", flat=True))
    kept = [
        put_row(Holiday, match={"company": company, "day": day}, values={"name": name[:120]})
        for day, name in sorted(days.items())
        if day not in own
    ]
    delete_others(stored.filter(is_own=False), kept)
    return len(kept)


@dataclass(frozen=True, slots=True)
class HolidayLine:
    """A holiday as somebody wants it.

    place: what faults call the line. public_id, version: of the row they saw, none for a new one.
    """

    place: str
    day: date
    name: str
    public_id: UUID | None = None
    version: int = 0
    remove: bool = False


@transaction.atomic
def edit_holiday(*, holiday: Holiday, version: int, values: Mapping[str, Any]) -> None:
    """Set the ``day`` or ``name`` of one holiday, which is the company's own from then on.

    Raises StaleRowsError, and ValidationError for the day of another.
    """
    if any(getattr(holiday, name) != value for name, value in values.items()):
        change_row(holiday, version=version, values={**values, "is_own": True})


@transaction.atomic
def edit_holidays(*, company: Company, lines: Sequence[HolidayLine]) -> None:
    """Add, change and remove holidays; those that no line names stay. One that is added or
    changed is the company's own from then on.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    rows = {row.public_id: row for row in Holiday.objects.filter(company=company)}
    if faults := list(holiday_faults(lines, rows.values())):
        raise InputFaults(faults)
    all_or_stale([partial(_change, line, rows) for line in lines if line.public_id])
    for line in lines:
        if not line.remove and (line.public_id is None or _is_moved(line, rows)):
            row = Holiday(company=company, day=line.day, name=line.name, is_own=True)
            row.full_clean()
            row.save()


def holiday_faults(lines: Sequence[HolidayLine], rows: Iterable[Holiday]) -> Iterator[Fault]:
    """Yield each line whose day another line, or a stored row that no line names, has."""
    named = {line.public_id for line in lines}
    taken = {row.day: row.name for row in rows if row.public_id not in named}
    for line in lines:
        if line.remove:
            continue
        if line.day in taken:
            said = _("%(name)s is on that day already: change that line.")
            yield Fault(f"{line.place}-day", said % {"name": taken[line.day]})
        taken.setdefault(line.day, line.name)


def _change(line: HolidayLine, rows: Mapping[UUID, Holiday]) -> None:
    """Bring a stored row in line, but for its day: one that moves is made anew once all are gone
    from theirs, so that two may swap."""
    row = rows.get(line.public_id) if line.public_id else None
    if row is None:
        raise StaleRowsError([], gone=1)
    if line.remove or _is_moved(line, rows):
        remove_row(row, version=line.version)
    elif row.name != line.name:
        change_row(row, version=line.version, values={"name": line.name, "is_own": True})


def _is_moved(line: HolidayLine, rows: Mapping[UUID, Holiday]) -> bool:
    return line.public_id is not None and rows[line.public_id].day != line.day
