"""Editing the hours of a crew's week, day by day."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

from django.db import transaction

from finishing.models import Crew, CrewHours
from finishing.rules.hours import WeeklyWindow
from finishing.services.rows import StaleRowsError, all_or_stale, delete_others, put_row, version_of


@dataclass(frozen=True, slots=True)
class DayHours:
    """The windows of a weekday (0 Monday) as somebody wants them; version: see
    :func:`finishing.services.rows.version_of`, of those they saw."""

    weekday: int
    windows: tuple[WeeklyWindow, ...]
    version: int = 0


@transaction.atomic
def edit_week(*, crew: Crew, days: Iterable[DayHours]) -> None:
    """Bring the weekdays in line. Raises StaleRowsError with a row of each day that has other
    hours by now."""
    all_or_stale([partial(_bring_in_line, crew, day) for day in days])


def _bring_in_line(crew: Crew, day: DayHours) -> None:
    rows = CrewHours.objects.filter(crew=crew, weekday=day.weekday)
    stored = list(rows)
    if {(row.start, row.end) for row in stored} == {(one.start, one.end) for one in day.windows}:
        return
    if version_of(stored) != day.version:
        raise StaleRowsError(stored[:1], gone=0 if stored else 1)
    whose = {"company": crew.company, "crew": crew, "weekday": day.weekday}
    kept = [
        put_row(CrewHours, match={**whose, "start": one.start, "end": one.end})
        for one in day.windows
    ]
    delete_others(rows, kept)
