"""Dryers that stand in a house: the bars of the chart and the dryer-days of the table."""

from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st

from api.web.air_periods import period_of
from api.web.dryer_days import dryer_chart, dryer_days, standing_bars
from api.web.house_curves import air_page
from api.web.house_days import day_figures
from api.web.time_charts import Period
from finishing.models import Dryer
from scheduling.services.house_curves import HourlyAir
from scheduling.services.house_drying import house_drying
from scheduling.services.standing_dryers import DryerStay, dryers_standing
from tests.factories import make_house, make_plan
from tests.sites import MONDAY, make_site

DUBLIN = ZoneInfo("Europe/Dublin")
START = datetime(2026, 3, 27, tzinfo=UTC)
HOUR = timedelta(hours=1)
hours = st.integers(-48, 200)


def air() -> HourlyAir:
    steady = np.full(240, 20.0)
    return HourlyAir(START, steady, steady / 50, ("record",) * 240, 0 * steady)


def days_shown() -> Period:
    """Six days, with the Sunday of 23 hours on which Ireland goes to summer time."""
    return period_of(air(), [START + HOUR, START + 130 * HOUR], now=START, zone=DUBLIN)


def stay(first: int, last: int, count: int = 1) -> DryerStay:
    return DryerStay("Dehumidifier", count, START + first * HOUR, START + last * HOUR)


def test_bars_change_where_a_dryer_comes_or_goes() -> None:
    bars = standing_bars([stay(10, 58), stay(34, 82, 2)], days_shown())
    told = [((a - START) / HOUR, (b - START) / HOUR, count) for a, b, count in bars]
    assert told == [(10, 34, 1), (34, 58, 3), (58, 82, 2)]


def test_a_dryer_kept_in_the_house_stands_all_the_time() -> None:
    shown = days_shown()
    kept = [DryerStay("Dehumidifier", 2)]
    assert standing_bars(kept, shown) == [(shown.first, shown.last, 2.0)]
    days = day_figures(air(), shown, kept)
    assert [day.dryer_days for day in days] == ["2", "2", "1.9", "2", "2", "2"], "a day of 23 hours"


@given(st.lists(st.tuples(hours, hours, st.integers(1, 3)), max_size=6))
def test_the_table_holds_as_many_dryer_days_as_the_bars(
    drawn: list[tuple[int, int, int]],
) -> None:
    stays = [stay(min(a, b), max(a, b), count) for a, b, count in drawn]
    shown = days_shown()
    bars = standing_bars(stays, shown)
    in_bars = sum(count * (last - first) / (24 * HOUR) for first, last, count in bars)
    assert in_bars == pytest.approx(dryer_days(stays, shown.first, shown.last))
    assert all(shown.first <= first < last <= shown.last for first, last, _ in bars)


def test_the_chart_says_in_words_what_stands_when() -> None:
    root = ET.fromstring(dryer_chart([stay(10, 58)], days_shown()))
    assert root.findtext("title") == "Dryers standing: 2 dryer-days"
    assert root.findtext("desc") == "1 Dehumidifier: Fri 27 Mar 10:00 to Sun 29 Mar 11:00."


@pytest.mark.django_db
def test_dryers_are_those_kept_there_and_those_the_plan_sets_down_there() -> None:
    company, house = make_site()
    other = make_house(company, "Orchard House")
    Dryer.objects.create(company=company, name="Kept", litres_per_day=20, count=2, house=house)
    Dryer.objects.create(company=company, name="Away", litres_per_day=20, house=other)
    Dryer.objects.create(company=company, name="Free", litres_per_day=20)
    moved = {
        "name": "Free",
        "dryer": "free",
        "unit": 0,
        "set_in": "a",
        "collect_in": "b",
        "coats": [],
        "saved_minutes": 60,
        "set_at": "2026-03-02T12:00:00+00:00",
        "collect_at": "2026-03-04T12:00:00+00:00",
    }
    plan = make_plan(
        company,
        dryers=[
            {"code": "stay", "house_id": str(house.public_id), **moved},
            {"code": "stay", "house_id": str(other.public_id), **moved},
            {"code": "leave_it", "name": "Spare"},
        ],
    )
    set_at, collect_at = datetime(2026, 3, 2, 12, tzinfo=UTC), datetime(2026, 3, 4, 12, tzinfo=UTC)
    assert dryers_standing(house, plan) == (
        DryerStay("Kept", 2),
        DryerStay("Free", 1, set_at, collect_at),
    )
    found = house_drying(company=company, of=(house.pk,), now=MONDAY)
    curves = air_page(house, found, now=MONDAY).curves
    assert curves is not None
    text = render_to_string("web/curves.html", {"curves": curves})
    assert "Dryers standing" in text
    assert text.count('data-label="Dryer-days"') == len(curves.days)


@pytest.mark.django_db
def test_a_house_without_dryers_shows_none() -> None:
    company, house = make_site()
    make_plan(company)
    found = house_drying(company=company, of=(house.pk,), now=MONDAY)
    curves = air_page(house, found, now=MONDAY).curves
    assert curves is not None
    assert "Dryer" not in render_to_string("web/curves.html", {"curves": curves})
