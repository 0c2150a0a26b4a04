"""Keeping what was forecast, a forecast a day, so that it can be held against what came."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from finishing.models import AirSource, ForecastIssue
from finishing.services.air import Reading

HOUR = timedelta(hours=1)
MOST_HOURS = 16 * 24
"""Nobody forecasts an hour's air further ahead than that."""


def keep_issue(
    *, source: AirSource, readings: Mapping[datetime, Reading], now: datetime
) -> ForecastIssue | None:
    """Store what a forecast says of the hours from now on, unless one of this UTC day is stored
    already; None where there is nothing to keep. Call it in the transaction that stores its air.
    """
    issued_on = now.astimezone(UTC).date()
    first = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    hours = [hour for hour in readings if first <= hour < first + MOST_HOURS * HOUR]
    kept = ForecastIssue.objects.filter(source=source, issued_on=issued_on)
    if not hours or kept.exists():
        return None
    every = [first + number * HOUR for number in range((max(hours) - first) // HOUR + 1)]
    row = ForecastIssue(
        company=source.company,
        source=source,
        issued_on=issued_on,
        first_hour=first,
        temperature_c=[readings[at].temperature_c if at in readings else None for at in every],
        humidity=[readings[at].humidity if at in readings else None for at in every],
    )
    row.full_clean()
    row.save()
    return row
