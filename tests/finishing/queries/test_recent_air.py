"""The air of many sources at once."""

from datetime import UTC, date, datetime, timedelta

import pytest

from finishing.models import AirDay, AirSource
from finishing.queries.air import RecentAir
from tests.factories import make_company

FIRST = date(2026, 1, 1)


@pytest.mark.django_db
def test_more_sources_than_a_condition_may_be_deep_are_read_at_once() -> None:
    """SQLite takes no condition that is deeper than a thousand."""
    company, kind = make_company(), AirSource.Kind.STATION
    sources = AirSource.objects.bulk_create(
        AirSource(company=company, name=f"Station {number}", kind=kind) for number in range(1100)
    )
    days = [FIRST + timedelta(days=number % 7) for number in range(len(sources))]
    AirDay.objects.bulk_create(
        AirDay(
            company=company, source=source, day=day, temperature_c=[18.0] * 24, humidity=[0.5] * 24
        )
        for source, day in zip(sources, days, strict=True)
    )
    recent = RecentAir(sources, first_day=date(2026, 3, 1), last_days=timedelta(days=3))
    for source, day in list(zip(sources, days, strict=True))[-7:]:
        hour = datetime(day.year, day.month, day.day, 5, tzinfo=UTC)
        assert recent.hourly(source, first_hour=hour, hours=1).temperature_c.tolist() == [18.0]
