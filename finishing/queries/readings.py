"""What was last read in houses."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

from finishing.models import AirDay, AirSource, Company, House


@dataclass(frozen=True)
class LastReading:
    """The last reading in a house: the UTC hour of it, Celsius, humidity as a fraction."""

    hour: datetime
    temperature_c: float
    humidity: float


def last_readings(company: Company, houses: Iterable[House]) -> dict[int, LastReading]:
    """Return the last reading of each house that has one, by the house's pk."""
    rows = AirDay.objects.filter(
        company=company, source__kind=AirSource.Kind.READINGS, source__house__in=list(houses)
    )
    last: dict[int, LastReading] = {}
    for row in rows.select_related("source").order_by("day"):
        known = [hour for hour, value in enumerate(row.temperature_c) if value is not None]
        if row.source.house_id is not None and known:
            hour = known[-1]
            last[row.source.house_id] = LastReading(
                datetime.combine(row.day, time.min, UTC) + timedelta(hours=hour),
                row.temperature_c[hour],
                row.humidity[hour],
            )
    return last
