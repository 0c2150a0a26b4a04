"""Rows of single days that say the same on days in a row, edited as one stretch of days."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property, partial
from typing import Any
from uuid import UUID

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from finishing.models import Company, DayOff, ExtraHours, Loan
from finishing.services.day_list import LONGEST_RANGE_DAYS
from finishing.services.errors import Fault
from finishing.services.rows import StaleRowsError, all_or_stale, remove_row, version_of

type DayRow = DayOff | ExtraHours | Loan

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Stretch[R: DayRow]:
    """Rows of days in a row, in order; ``key`` is the first one's public id."""

    rows: tuple[R, ...]

    @property
    def key(self) -> UUID:
        return self.rows[0].public_id

    @property
    def first_day(self) -> date:
        return self.rows[0].day

    @property
    def last_day(self) -> date:
        return self.rows[-1].day

    @cached_property
    def version(self) -> int:
        return version_of(self.rows)


@dataclass(frozen=True)
class StretchLine:
    """A stretch as somebody wants it, both days included.

    place: what faults call the line; values: what each of its rows has besides company and day.
    key, version: of the stretch they saw, none for a new one.
    """

    place: str
    first_day: date
    last_day: date
    values: Mapping[str, Any] = field(default_factory=dict)
    key: UUID | None = None
    version: int = 0
    remove: bool = False

    @property
    def days(self) -> list[date]:
        count = (self.last_day - self.first_day).days + 1
        return [self.first_day + number * ONE_DAY for number in range(count)]

    def meets(self, other: "StretchLine") -> date | None:
        """Return the first day that both have."""
        first = max(self.first_day, other.first_day)
        return first if first <= min(self.last_day, other.last_day) else None


def stretches_of[R: DayRow](
    rows: Iterable[R], says: Callable[[R], Hashable]
) -> dict[UUID, Stretch[R]]:
    """Return rows as stretches by key, in order of their first days; says: what is the same in
    all rows of one."""
    runs: dict[Hashable, list[list[R]]] = {}
    for row in sorted(rows, key=lambda row: (row.day, row.pk)):
        of_kind = runs.setdefault(says(row), [])
        if of_kind and row.day - of_kind[-1][-1].day == ONE_DAY:
            of_kind[-1].append(row)
        else:
            of_kind.append([row])
    found = [Stretch(tuple(run)) for of_kind in runs.values() for run in of_kind]
    return {one.key: one for one in sorted(found, key=lambda one: (one.first_day, one.key))}


def length_faults(lines: Iterable[StretchLine]) -> Iterator[Fault]:
    """Yield what is wrong with the days of lines."""
    for line in lines:
        if line.remove:
            continue
        if line.last_day < line.first_day:
            yield Fault(f"{line.place}-last_day", _("It ends before it begins: swap the days."))
        elif len(line.days) > LONGEST_RANGE_DAYS:
            yield Fault(f"{line.place}-last_day", _("This is longer than a year: enter less."))


def taken_fault(line: StretchLine, on: date, who: str) -> Fault:
    """Return that a line names a day on which the same is said elsewhere."""
    said = _("%(who)s has %(day)s in another line already: change one of the two.")
    return Fault(f"{line.place}-first_day", said % {"who": who, "day": date_format(on, "D j M Y")})


def edit_stretches[R: DayRow](
    model: type[R],
    company: Company,
    lines: Sequence[StretchLine],
    stretches: Mapping[UUID, Stretch[R]],
) -> None:
    """Bring stretches in line; those that no line names stay. Call it in a transaction.

    What was seen is taken away before anything new is stored, so that lines may swap days.
    Raises StaleRowsError with all stretches that are others by now.
    """
    all_or_stale([partial(_take_away, line, stretches) for line in lines])
    for line in lines:
        for day in _days_to_make(line, stretches):
            row = model(company=company, day=day, **line.values)
            row.full_clean()
            row.save()


def _take_away(line: StretchLine, stretches: Mapping[UUID, Stretch[Any]]) -> None:
    """Delete the rows of the stretch that a line is about, but those that stay as they are."""
    if line.key is None:
        return
    stretch = stretches.get(line.key)
    if stretch is None:
        raise StaleRowsError([], gone=1)
    if stretch.version != line.version:
        raise StaleRowsError([stretch.rows[0]])
    for row in stretch.rows:
        if not _stays(row, line):
            remove_row(row, version=row.version)


def _days_to_make(line: StretchLine, stretches: Mapping[UUID, Stretch[Any]]) -> list[date]:
    if line.remove:
        return []
    seen = stretches[line.key].rows if line.key else ()
    stay = {row.day for row in seen if _stays(row, line)}
    return [day for day in line.days if day not in stay]


def _stays(row: DayRow, line: StretchLine) -> bool:
    return (
        not line.remove
        and line.first_day <= row.day <= line.last_day
        and all(getattr(row, name) == value for name, value in line.values.items())
    )
