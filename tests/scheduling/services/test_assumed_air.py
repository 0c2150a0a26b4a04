"""Air that is not known: what stands in for it, and that it is called assumed."""

from datetime import date, timedelta

import pytest

from finishing.models import AirDay
from scheduling.services.inputs import build_inputs
from tests.factories import local
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db


def test_air_long_past_its_record_is_that_of_its_last_seven_days() -> None:
    company, _ = make_site(humidity=0.3)
    AirDay.objects.filter(day__gte=date(2026, 2, 19)).delete()
    AirDay.objects.filter(day__gte=date(2026, 2, 12)).update(humidity=[0.7] * 24)
    for moment in (MONDAY, MONDAY + timedelta(days=60)):
        air = next(iter(build_inputs(company=company, now=moment).airs.values()))
        assert air.humidity[-1] == pytest.approx(0.7)


def test_hole_in_the_record_takes_the_days_before_it_and_is_called_assumed() -> None:
    company, _ = make_site()
    by_hour = [16.0 + (8.0 if hour == 14 else 0.0) for hour in range(24)]
    AirDay.objects.update(temperature_c=by_hour)
    AirDay.objects.filter(day__range=(date(2026, 3, 4), date(2026, 3, 9))).delete()
    inputs = build_inputs(company=company, now=MONDAY)
    air = next(iter(inputs.airs.values()))
    hole = int((local("2026-03-06 14:00") - inputs.timeline.origin) / timedelta(hours=1))
    assert air.temperature_c[hole] == pytest.approx(24.0)
    assert air.source_between(12 * hole, 12 * hole + 12) == "assumed"
    assert air.source_between(12 * (hole - 96), 12 * (hole - 90)) == "record"
