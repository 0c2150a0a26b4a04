"""Stored air as arrays."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple

import numpy as np
from django.db.models import Max, Min, Q
from numpy.typing import NDArray

from finishing.models import AirDay, AirSource

HOURS = 24

type Day = NDArray[np.float64]
"""Temperatures and humidities of a day's hours, of shape (2, 24)."""
type Known = tuple[datetime, datetime]
"""The first known hour and the end of the last one, in UTC."""


class HourlyAir(NamedTuple):
    """Celsius and relative humidity as a fraction, by hour; NaN where it is not known."""

    temperature_c: NDArray[np.float64]
    humidity: NDArray[np.float64]


def hourly_air(source: AirSource, *, first_hour: datetime, hours: int) -> HourlyAir:
    """Return the air of so many hours from first_hour (an aware time, taken down to its hour)."""
    start, days = _days_of(first_hour, hours)
    rows = AirDay.objects.filter(source=source, day__range=(days[0], days[-1]))
    known = {row[0]: _day(*row[1:]) for row in rows.values_list("day", "temperature_c", "humidity")}
    return _joined(known, start, days, hours)


class RecentAir:
    """The air of some sources, read in three queries for all of them: of each from a day on, and
    the last days that it knows, however long ago. What is older is read when it is asked for."""

    def __init__(
        self, sources: Iterable[AirSource], *, first_day: date, last_days: timedelta
    ) -> None:
        found = {source.pk: source for source in sources}
        self._spans = known_spans(list(found.values()))
        self._from = {
            pk: min(first_day, (span[1] - last_days).date()) for pk, span in self._spans.items()
        }
        self._days: dict[int, dict[date, Day]] = {pk: {} for pk in found}
        wanted = Q(pk__in=())
        for day in set(self._from.values()):  # an OR of each source is too deep for a database
            mine = [pk for pk, first in self._from.items() if first == day]
            wanted |= Q(source__in=mine, day__gte=day)
        rows = AirDay.objects.filter(wanted) if self._from else AirDay.objects.none()
        for pk, day, *values in rows.values_list("source", "day", "temperature_c", "humidity"):
            self._days[pk][day] = _day(*values)

    def span(self, source: AirSource) -> Known | None:
        """Return what one of the sources knows; None where it knows nothing."""
        return self._spans.get(source.pk)

    def hourly(self, source: AirSource, *, first_hour: datetime, hours: int) -> HourlyAir:
        """Return the air of one of the sources as :func:`hourly_air` does."""
        start, days = _days_of(first_hour, hours)
        if days[0] < self._from.get(source.pk, date.min):
            return hourly_air(source, first_hour=first_hour, hours=hours)
        return _joined(self._days[source.pk], start, days, hours)


def _days_of(first_hour: datetime, hours: int) -> tuple[datetime, list[date]]:
    start = first_hour.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    last = start + timedelta(hours=max(hours, 1) - 1)
    days = (last.date() - start.date()).days + 1
    return start, [start.date() + timedelta(days=number) for number in range(days)]


def _day(temperature_c: list[float | None], humidity: list[float | None]) -> Day:
    return np.array((temperature_c, humidity), dtype=float)


def _joined(
    known: Mapping[date, Day], start: datetime, days: Sequence[date], hours: int
) -> HourlyAir:
    air = np.full((2, len(days) * HOURS), np.nan)
    for number, day in enumerate(days):
        if day in known:
            air[:, number * HOURS : (number + 1) * HOURS] = known[day]
    window = slice(start.hour, start.hour + hours)
    return HourlyAir(air[0, window], air[1, window])


def known_span(source: AirSource) -> Known | None:
    """Return what a source knows; None where it knows nothing."""
    return known_spans([source]).get(source.pk)


def known_spans(sources: Sequence[AirSource]) -> dict[int, Known]:
    """Return by source (pk) what it knows, in two queries; nothing for one that knows nothing."""
    mine = AirDay.objects.filter(source__in=sources)
    ends = mine.values("source").annotate(first=Min("day"), last=Max("day")).order_by()
    days = {day for row in ends for day in (row["first"], row["last"])}
    rows = {(row.source_id, row.day): row for row in mine.filter(day__in=days)}
    return {
        row["source"]: _span(rows[row["source"], row["first"]], rows[row["source"], row["last"]])
        for row in ends
    }


def _span(first: AirDay, last: AirDay) -> Known:
    return (
        _hour(first.day, _known_hours(first)[0]),
        _hour(last.day, _known_hours(last)[-1]) + timedelta(hours=1),
    )


def _known_hours(row: AirDay) -> list[int]:
    return [hour for hour, value in enumerate(row.temperature_c) if value is not None]


def _hour(day: date, hour: int) -> datetime:
    return datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
