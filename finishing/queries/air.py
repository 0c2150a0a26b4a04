"""Stored air as arrays."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple

import numpy as np
from django.db.models import Max, Min
from numpy.typing import NDArray

from finishing.models import AirDay, AirSource

HOURS = 24


class HourlyAir(NamedTuple):
    """Celsius and relative humidity as a fraction, by hour; NaN where it is not known."""

    temperature_c: NDArray[np.float64]
    humidity: NDArray[np.float64]


def hourly_air(source: AirSource, *, first_hour: datetime, hours: int) -> HourlyAir:
    """Return the air of so many hours from first_hour (an aware time, taken down to its hour)."""
    start = first_hour.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    last_day = (start + timedelta(hours=max(hours, 1) - 1)).date()
    days = (last_day - start.date()).days + 1
    air = np.full((2, days * HOURS), np.nan)
    rows = AirDay.objects.filter(source=source, day__range=(start.date(), last_day))
    for day, temperature_c, humidity in rows.values_list("day", "temperature_c", "humidity"):
        at = (day - start.date()).days * HOURS
        air[0, at : at + HOURS] = np.array(temperature_c, dtype=float)
        air[1, at : at + HOURS] = np.array(humidity, dtype=float)
    window = slice(start.hour, start.hour + hours)
    return HourlyAir(air[0, window], air[1, window])


type Known = tuple[datetime, datetime]
"""The first known hour and the end of the last one, in UTC."""


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
