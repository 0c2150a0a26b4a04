"""Forecasts that were kept, against what came."""

from datetime import UTC, date, datetime, timedelta

import pytest

from finishing.models import AirDay, AirSource, Company, ForecastIssue
from finishing.services.air import Reading
from finishing.services.forecast_issues import keep_issue
from scheduling.services.forecast_record import forecast_records
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db
START = datetime(2026, 3, 2, 6, 20, tzinfo=UTC)
HOUR = timedelta(hours=1)


def forecast_of(company: Company) -> AirSource:
    return AirSource.objects.create(
        company=company, name="Forecast 53, -6", kind="forecast", latitude=53, longitude=-6
    )


def readings(temperature_c: float, hours: int = 48) -> dict[datetime, Reading]:
    first = START.replace(minute=0)
    return {first + n * HOUR: Reading(temperature_c, 0.7) for n in range(-6, hours)}


def came(source: AirSource, temperature_c: float) -> None:
    for number in range(4):
        AirDay.objects.create(
            company=source.company,
            source=source,
            day=date(2026, 3, 2) + timedelta(days=number),
            temperature_c=[temperature_c] * 24,
            humidity=[0.8] * 24,
        )


def test_the_first_of_a_day_stays_from_its_own_hour_on() -> None:
    source = forecast_of(make_company())
    assert keep_issue(source=source, readings=readings(10.0), now=START)
    assert keep_issue(source=source, readings=readings(15.0), now=START + 5 * HOUR) is None
    (row,) = ForecastIssue.objects.all()
    assert row.first_hour == START.replace(minute=0)
    assert row.temperature_c == [10.0] * 48


def test_held_against_the_station_of_the_house() -> None:
    company = make_company()
    source = forecast_of(company)
    station = AirSource.objects.create(company=company, name="Station")
    make_house(company, latitude=53.0, longitude=-6.0)
    keep_issue(source=source, readings=readings(10.0), now=START)
    came(station, 8.0)
    now = START + timedelta(days=3)
    (record,) = forecast_records(company=company, first=date(2026, 3, 1), now=now)
    assert (record.against, record.days) == (station, 1)
    assert [(one.day, one.hours, one.miss_c) for one in record.errors] == [
        (1, 24, 2.0),
        (2, 24, 2.0),
    ]
    assert record.errors[0].bias_humidity == pytest.approx(-0.1)


def test_without_a_station_against_what_was_forecast_last_and_never_what_is_to_come() -> None:
    company = make_company()
    source = forecast_of(company)
    keep_issue(source=source, readings=readings(10.0), now=START)
    came(source, 9.0)
    (record,) = forecast_records(company=company, first=date(2026, 3, 1), now=START + 4 * HOUR)
    assert record.against == source
    assert [(one.day, one.hours, one.bias_c) for one in record.errors] == [(1, 4, 1.0)]


def test_nothing_kept_is_nothing_said() -> None:
    assert forecast_records(company=make_company(), first=date(2026, 3, 1), now=START) == []
