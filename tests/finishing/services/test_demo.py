from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from finishing.models import (
    AirDay,
    AirSource,
    Area,
    Closure,
    CoatDone,
    Company,
    Crew,
    ForecastIssue,
    House,
    OddJob,
    Price,
    ReadinessLine,
    Room,
    Surface,
)
from finishing.queries.air import hourly_air, known_span
from finishing.rules.prices import PriceKind
from finishing.services.demo import ANCHOR, load_demo
from scheduling.services.forecast_record import forecast_records

pytestmark = pytest.mark.django_db


def test_the_files_import_without_faults_and_hold_what_a_demo_should_show() -> None:
    company = load_demo(today=ANCHOR)
    assert company.is_demo
    assert House.objects.count() == 6
    assert [crew.members.count() for crew in Crew.objects.order_by("id")] == [2, 2, 3]
    rooms = [Room.objects.filter(area__house=house).count() for house in House.objects.all()]
    assert all(5 <= count <= 9 for count in rooms)
    assert set(Surface.objects.values_list("takeoff", flat=True)) == {"measured", "rooms", "rough"}
    assert {"3", "4", "5"} <= set(Surface.objects.values_list("level", flat=True))
    assert House.objects.filter(heating="unheated").count() == 1
    assert CoatDone.objects.exists()
    assert Closure.objects.filter(reason="Screed").exists()
    assert OddJob.objects.exists()
    assert ReadinessLine.objects.filter(done=False, expected_on__gt=ANCHOR).exists()
    assert company.currency == "EUR"
    assert set(Price.objects.values_list("kind", flat=True)) == set(PriceKind)


def test_forecasts_of_the_days_before_today_miss_by_more_the_further_ahead() -> None:
    friday = ANCHOR + timedelta(days=4)
    for _ in range(2):
        company = load_demo(today=friday)
    assert ForecastIssue.objects.count() == 18
    now = datetime(2026, 3, 6, 9, tzinfo=UTC)
    (record,) = forecast_records(company=company, first=date(2026, 1, 1), now=now)
    assert [error.day for error in record.errors] == [1, 2, 3, 4, 5, 6, 7]
    misses = [error.miss_c for error in record.errors]
    assert 0.2 < misses[0] < 1
    assert misses == sorted(misses)


def test_the_air_has_a_humid_spell_in_the_second_week() -> None:
    load_demo(today=ANCHOR)
    source = AirSource.objects.get()
    start = datetime(2026, 2, 16, tzinfo=UTC)
    assert known_span(source) == (start, start + timedelta(days=35))
    air = hourly_air(source, first_hour=start, hours=35 * 24)
    assert not np.isnan(air.temperature_c).any()
    assert air.temperature_c.min() >= 4
    assert air.temperature_c.max() <= 15
    daily_humidity = air.humidity.reshape(35, 24).mean(axis=1)
    assert list(np.flatnonzero(daily_humidity > 0.9)) == list(range(21, 29))


@pytest.mark.parametrize("today", [date(2026, 3, 8)])
def test_any_day_of_the_anchors_week_moves_nothing(today: date) -> None:
    load_demo(today=today)
    assert House.objects.get(name="Quay Street flat 1").opens_on == date(2026, 2, 23)


@pytest.mark.parametrize("today", [date(2026, 10, 22), date(2025, 12, 31)])
def test_every_date_moves_by_the_same_whole_weeks(today: date) -> None:
    load_demo(today=today)
    monday = today - timedelta(days=today.weekday())
    moved = monday - ANCHOR
    assert moved % timedelta(weeks=1) == timedelta(0)
    house = House.objects.get(name="Mill Row terrace")
    assert house.opens_on == monday
    closure = Closure.objects.get()
    assert closure.first_day == date(2026, 3, 5) + moved
    assert AirDay.objects.order_by("day")[0].day == monday - timedelta(days=14)
    ended_on = CoatDone.objects.get().ended_at.date()
    assert ended_on == date(2026, 2, 27) + moved


def test_loading_again_keeps_ids_and_moves_on() -> None:
    load_demo(today=ANCHOR)
    models = (Company, House, Area, Room, Surface, Crew)
    before = [set(model.objects.values_list("public_id", flat=True)) for model in models]
    load_demo(today=ANCHOR + timedelta(days=70))
    after = [set(model.objects.values_list("public_id", flat=True)) for model in models]
    assert after == before
    assert AirDay.objects.count() == 35
