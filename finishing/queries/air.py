"""Stored air as arrays."""

from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple

import numpy as np
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


def known_span(source: AirSource) -> tuple[datetime, datetime] | None:
    """Return the first known hour and the end of the last one, in UTC; None where there is none."""
    rows = AirDay.objects.filter(source=source).order_by("day")
    first, last = rows.first(), rows.last()
    if first is None or last is None:
        return None
    return (
        _hour(first.day, _known_hours(first)[0]),
        _hour(last.day, _known_hours(last)[-1]) + timedelta(hours=1),
    )


def _known_hours(row: AirDay) -> list[int]:
    return [hour for hour, value in enumerate(row.temperature_c) if value is not None]


def _hour(day: date, hour: int) -> datetime:
    return datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
