"""Invented forecasts of the demo company's air, one a day, so that there is something to hold
against what came. They miss by more the further ahead they look; nothing is random."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from math import pi, sin

from finishing.models import AirSource, ForecastIssue
from finishing.queries.air import hourly_air
from finishing.services.air import Reading
from finishing.services.forecast_issues import HOUR, keep_issue

ISSUED_AT = time(5, tzinfo=UTC)
DAYS_AHEAD = 7
MISS_C_A_DAY, MISS_HUMIDITY_A_DAY = 0.35, 0.012
"""By how much the swing of an error grows with a day of lead."""
TOO_WARM_C = 0.3
"""Forecasts for open country are a little warm for a yard in the shade: invented."""
SWING_HOURS, SWING_DAYS = 31.0, 5.0
"""How long an error takes to go up and down: along a forecast, and from one to the next."""


def make_up_forecasts(*, source: AirSource, first: date, today: date) -> None:
    """Store a forecast of each day from first to yesterday, in place of those there were."""
    ForecastIssue.objects.filter(source=source).delete()
    for number in range((today - first).days):
        at = datetime.combine(first + timedelta(days=number), ISSUED_AT)
        keep_issue(source=source, readings=dict(_foretold(source, at, number)), now=at)


def _foretold(
    source: AirSource, issued_at: datetime, number: int
) -> Iterator[tuple[datetime, Reading]]:
    hours = DAYS_AHEAD * 24
    air = hourly_air(source, first_hour=issued_at, hours=hours)
    pairs = zip(air.temperature_c.tolist(), air.humidity.tolist(), strict=True)
    for hour, (came_c, came_humidity) in enumerate(pairs):
        swing = hour / 24 * sin(2 * pi * (hour / SWING_HOURS + number / SWING_DAYS))
        humidity = came_humidity - MISS_HUMIDITY_A_DAY * swing
        foretold_c = came_c + TOO_WARM_C + MISS_C_A_DAY * swing
        yield (
            issued_at + hour * HOUR,
            Reading(round(foretold_c, 1), round(min(1.0, max(0.2, humidity)), 3)),
        )
