"""The page of a house's coats and air: charts and the tables beside them."""

from datetime import datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from django.core.cache import cache
from django.db import connection
from django.template.loader import render_to_string
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api.web.air_periods import hours_between, period_of
from api.web.house_curves import AirPage, Curves, air_page
from api.web.house_days import day_figures, figure_charts, hour_moments
from api.web.room_coats import room_chart
from api.web.time_charts import LEFT
from finishing.models import AirSource, Company, House, Room, Surface
from scheduling.services.house_curves import HourlyAir, house_curves
from scheduling.services.house_drying import house_drying
from scheduling.wording import moment
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house
from tests.plans import plan_from, published_from
from tests.sites import MONDAY, make_site, steady_air, utc

pytestmark = pytest.mark.django_db(transaction=True)

DUBLIN = ZoneInfo("Europe/Dublin")
HOUR = timedelta(hours=1)


@pytest.fixture
def site() -> tuple[Company, House]:
    """A house of two rooms in drying compound, in steady air, planned and published."""
    company, house = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    published_from(company, MONDAY)
    return company, house


def page_of(company: Company, house: House, now: datetime = MONDAY) -> AirPage:
    found = house_drying(company=company, of=(house.pk,), now=now)
    return air_page(house, found, now=now)


def curves_of(company: Company, house: House, now: datetime = MONDAY) -> Curves:
    curves = page_of(company, house, now).curves
    assert curves is not None
    return curves


def text_of(client: Client, house: House) -> str:
    response = client.get(f"/houses/{house.public_id}/air/")
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def days_of_air(first: datetime, days: int) -> HourlyAir:
    """Air whose temperature counts the hours, on record."""
    hours = np.arange(24 * days, dtype=np.float64)
    return HourlyAir(first, hours, hours / 10_000, ("record",) * len(hours), np.zeros(len(hours)))


def test_the_coats_stand_by_area_and_room_and_in_figures_by_stage(
    site: tuple[Company, House],
) -> None:
    (area,) = curves_of(*site).areas
    assert [room.room for room in area.rooms] == ["Hall", "Kitchen"]
    assert [stage.stage for stage in area.stages] == ["Tape coat", "Second coat", "Finish coat"]
    assert [[coat.room for coat in stage.coats] for stage in area.stages] == [
        ["Hall", "Kitchen"]
    ] * 3


def test_the_table_says_what_the_chart_draws(site: tuple[Company, House]) -> None:
    """The place of each dot, back on the clock, is the hour that the table and the words give."""
    company, house = site
    found = house_curves(company=company, house=house, now=MONDAY)
    assert found is not None
    drying = found.rooms[0]
    moments = [at for coat in drying.coats for at in (coat.ended_at, coat.next_at) if at]
    period = period_of(found.air, moments, now=MONDAY, zone=DUBLIN)
    shown = room_chart(drying, period)
    root = ET.fromstring(shown.chart)
    dots = [float(part.get("cx", "")) for part in root.iter("circle")]
    px_per_hour = (312 - LEFT) / ((period.last - period.first) / HOUR)
    (area,) = curves_of(company, house).areas
    for dot, coat, stage, words in zip(dots, drying.coats, area.stages, shown.coats, strict=True):
        assert coat.ready_at is not None
        hours = (coat.ready_at - period.first) / HOUR
        assert dot == pytest.approx(LEFT + hours * px_per_hour, abs=0.06)
        ready = moment(coat.ready_at, DUBLIN)
        assert f"{ready} by the rule" == stage.coats[0].ready
        assert ready in words.said
        assert stage.coats[0].at_share[3] == moment(coat.at_share[1.0], DUBLIN)
        assert ready in (root.findtext("desc") or "")


def test_a_coat_that_is_covered_wet_is_said_to_be(site: tuple[Company, House]) -> None:
    company, house = site
    AirSource.objects.all().delete()
    steady_air(company, temperature_c=14.0, humidity=0.92)
    (area,) = curves_of(company, house).areas
    early = area.rooms[0].coats[0]
    assert early.early
    assert early.following.startswith("Second coat is planned before that: Tue 3 Mar")
    assert area.stages[0].coats[0].at_share[3] == ""


@pytest.mark.parametrize(
    ("sunday", "hours"), [("2026-03-29", 23), ("2026-10-25", 25), ("2026-11-01", 24)]
)
def test_a_day_of_the_table_has_the_hours_of_the_local_day(sunday: str, hours: int) -> None:
    """Ireland goes to summer time on 29 March and back on 25 October 2026: IANA time zones."""
    noon = utc(f"{sunday} 12:00")
    air = days_of_air(noon - 72 * HOUR, 6)
    period = period_of(air, [noon - 24 * HOUR, noon + 24 * HOUR], now=noon, zone=DUBLIN)
    days = day_figures(air, period)
    assert len(days) == 3
    low, high = (float(part) for part in days[1].temperature_c.split(" to "))
    assert high - low == hours - 1
    assert (f"({hours} hours)" in days[1].day) == (hours != 24)
    assert (period.last - period.first) / HOUR == 48 + hours


def test_the_days_of_the_table_hold_each_hour_of_the_chart_once() -> None:
    first = utc("2026-03-20 00:00")
    air = days_of_air(first, 20)
    shown = [first + 5 * 24 * HOUR, first + 14 * 24 * HOUR]
    period = period_of(air, shown, now=first, zone=DUBLIN)
    drawn = [value for _, value in hour_moments(air, air.temperature_c, period)]
    ends = [
        tuple(float(part) for part in day.temperature_c.split(" to "))
        for day in day_figures(air, period)
    ]
    assert (ends[0][0], ends[-1][1]) == (min(drawn), max(drawn))
    assert all(later[0] == earlier[1] + 1 for earlier, later in pairwise(ends))


def test_a_period_ends_where_the_air_ends_and_after_six_weeks() -> None:
    first = utc("2026-03-02 00:00")
    short, long = days_of_air(first, 10), days_of_air(first, 100)
    far = [first + 30 * HOUR, first + 95 * 24 * HOUR]
    period = period_of(short, far, now=first, zone=DUBLIN)
    assert hours_between(short, period.first, period.last) == range(24, 240)
    period = period_of(long, far, now=first, zone=DUBLIN)
    assert timedelta(weeks=6) <= period.last - period.first <= timedelta(weeks=6, days=2)


@pytest.mark.parametrize(("temperature_c", "near"), [(20.0, False), (14.0, True), (4.0, True)])
def test_the_least_temperature_is_drawn_where_the_house_comes_near(
    temperature_c: float, near: bool
) -> None:
    first = utc("2026-03-02 00:00")
    air = days_of_air(first, 5)
    steady = np.full(len(air.kinds), temperature_c)
    air = HourlyAir(first, steady, air.humidity, air.kinds, air.in_coats_kg)
    period = period_of(air, [first + HOUR], now=first, zone=DUBLIN)
    temperature, humidity = figure_charts(air, period)
    assert ("10 °C: no coat below" in temperature.chart) is near
    assert "10 °C" not in humidity.chart


def test_the_page_has_charts_with_names_and_tables_with_units(
    site: tuple[Company, House], sign_in: SignIn
) -> None:
    company, house = site
    text = text_of(sign_in(company), house)
    assert text.count('role="img"') == text.count("<title id=") == text.count("<desc id=") > 2
    for part in ("Temperature (°C)", "Humidity (%)", "Water left in the coats (kg)", "<details>"):
        assert part in text
    for part in ("style=", "<script", "check that a coat is dry"):
        assert (part in text) is (part == "check that a coat is dry")


def shown_on(monday: Curves) -> str:
    """Return what the page shows of a house on the day its work begins."""
    return render_to_string("web/curves.html", {"curves": monday})


def test_every_id_of_the_page_is_its_only_one(site: tuple[Company, House]) -> None:
    ids = [part.split('"')[0] for part in shown_on(curves_of(*site)).split(' id="')[1:]]
    assert len(ids) == len(set(ids)) > 10


def test_a_rooms_name_is_text_in_its_chart_too() -> None:
    company, house = make_site(rooms=("Hall",), system="All-purpose drying")
    Room.objects.update(name="<script>r('&')</script>")
    published_from(company, MONDAY)
    text = shown_on(curves_of(company, house))
    assert "<script" not in text
    assert text.count("&lt;script&gt;") > 3, "caption, title and three lines of the table"


def test_a_house_without_air_says_so(sign_in: SignIn) -> None:
    company = make_company()
    assert "No air is known" in text_of(sign_in(company), make_house(company))


def test_a_house_without_coats_has_air_all_the_same(sign_in: SignIn) -> None:
    company, house = make_site()
    text = text_of(sign_in(company), house)
    assert "No coat is drying, and none is planned" in text
    assert "Temperature inside" in text


def test_another_companys_house_is_not_here(sign_in: SignIn) -> None:
    house = make_house(make_company("Other Finishing"))
    client = sign_in(make_company())
    assert client.get(f"/houses/{house.public_id}/air/").status_code == 404


def test_the_house_page_leads_to_its_air_with_and_without_scripts(
    site: tuple[Company, House], sign_in: SignIn
) -> None:
    company, house = site
    client = sign_in(company)
    page = client.get(f"/houses/{house.public_id}/").content.decode()
    for attribute in ("href", "hx-get"):
        assert f'{attribute}="/houses/{house.public_id}/air/"' in page
    assert page.count('id="curves"') == text_of(client, house).count('id="curves"') == 1


def queries_for(company: Company, house: House) -> int:
    cache.clear()
    with CaptureQueriesContext(connection) as queries:
        curves_of(company, house)
    return len(queries)


def test_the_number_of_queries_does_not_grow_with_rooms(site: tuple[Company, House]) -> None:
    company, house = site
    before = queries_for(company, house)
    for room in Room.objects.filter(area__house=house):
        walls = room.surfaces.get()
        extra = Room.objects.create(company=company, area=room.area, name=f"Upper {room.name}")
        Surface.objects.create(
            company=company, room=extra, part="walls", family=walls.family, level=walls.level,
            takeoff="measured", area_m2=30.0, fasteners=200,
        )  # fmt: skip
    plan_from(company, MONDAY)
    assert len(curves_of(company, house).areas[0].rooms) == 4
    assert queries_for(company, house) == before
