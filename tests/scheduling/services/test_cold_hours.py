"""The hours too cold for coats that a plan keeps: those of the air that it was made with."""

from datetime import timedelta

import pytest

from finishing.models import AirSource
from scheduling.queries.cold import cold_spans
from tests.plans import plan_from
from tests.sites import MONDAY, hourly_station, make_site

pytestmark = pytest.mark.django_db


def test_a_plan_keeps_the_cold_nights_of_an_open_house() -> None:
    company, house = make_site(temperature_c=15.0, humidity=0.6)
    AirSource.objects.filter(company=company).delete()
    first = MONDAY.date() - timedelta(days=14)
    day = [8.0] * 5 + [10.0] + [16.0] * 18  # below 10 C from midnight to five; 10 C is enough
    hourly_station(company, day * 40, [0.6] * 24 * 40, first=first)
    plan = plan_from(company)
    spans = cold_spans(plan, house)
    nights = [span for span in spans if MONDAY <= span[0] < MONDAY + timedelta(days=5)]
    assert [last - first for first, last in nights] == [timedelta(hours=5)] * len(nights)
    assert {first.hour for first, _ in nights} == {0}
    assert len(nights) in (4, 5)


def test_a_plan_from_before_knows_of_no_cold() -> None:
    company, house = make_site()
    plan = plan_from(company)
    assert plan.cold_hours["houses"] == {}
    plan.cold_hours = {}
    assert cold_spans(plan, house) == []
