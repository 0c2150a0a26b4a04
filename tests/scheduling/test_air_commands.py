"""``manage.py refresh_air``, ``wet_visits``, ``note_air`` and ``show_air``."""

from datetime import timedelta
from io import StringIO
from typing import Any

import httpx
import pytest
from django.core.management import CommandError, call_command
from pytest_django.fixtures import Settings

from finishing.models import AirDay, AirSource, Company
from tests.factories import make_company, make_house
from tests.forecast_answers import answering, forecast_answer
from tests.plans import published_from
from tests.sites import MONDAY, make_site, steady_air

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
HERE: dict[str, Any] = {"latitude": 53.3441, "longitude": -6.2637}
HUMID = httpx.Response(200, json=forecast_answer(temperature_c=14, percent=90))
NOW = MONDAY + timedelta(minutes=5)


@pytest.fixture
def feed(settings: Settings) -> None:
    settings.FORECAST_URL = "https://forecast.example/v1/forecast"


def output(*command: str, **options: Any) -> str:
    out = StringIO()
    call_command(*command, stdout=out, **options)
    return out.getvalue()


def refused(*command: str, **options: Any) -> tuple[str, list[str]]:
    """Return what a command says and the faults it ends with."""
    out, err = StringIO(), StringIO()
    with pytest.raises(CommandError) as caught:
        call_command(*command, stdout=out, stderr=err, **options)
    return out.getvalue(), [*err.getvalue().splitlines(), str(caught.value)]


def test_a_humid_forecast_is_fetched_and_the_visits_it_makes_too_early_are_listed(
    feed: None,
) -> None:
    company, _ = make_site(system=DRYING, **HERE)
    published_from(company, MONDAY)
    assert "every published visit finds its coats dry" in output(
        "wet_visits", "--today", "2026-03-02"
    )
    said = output("refresh_air", transport=answering(HUMID), now=NOW)
    assert "Forecast 53.34, -6.26 (Mill Cottage): fetched 0 minutes ago" in said
    listed = said.partition("these visits arrive before the coat is dry:\n")[2]
    assert (
        "Mill Cottage, Tue 3 Mar 07:35, North crew\n  Second coat (Hall) over Tape coat" in listed
    )
    assert "by the air as forecast" in listed
    assert output("wet_visits", "--today", "2026-03-02") in said


def test_a_failed_refresh_keeps_the_last_air_and_says_how_old_it_is(feed: None) -> None:
    make_site(system=DRYING, **HERE)
    output("refresh_air", transport=answering(HUMID), now=NOW)
    before = list(AirDay.objects.values())
    said, faults = refused(
        "refresh_air",
        transport=answering(httpx.Response(200, content=b"<h1>Sorry")),
        now=NOW + timedelta(hours=3),
    )
    assert said.startswith(
        "Forecast 53.34, -6.26 (Mill Cottage): fetched 3 hours ago; the attempt 0 minutes ago"
        " failed: Forecast 53.34, -6.26: the answer is a web page, not JSON;"
        " its air is kept"
    )
    assert faults == ["1 of the forecasts could not be fetched; see above"]
    assert list(AirDay.objects.values()) == before


def test_without_an_address_nothing_is_fetched() -> None:
    make_site(system=DRYING, **HERE)
    assert "COATWEAVE_FORECAST_URL is not set" in output("refresh_air")
    assert not AirSource.objects.filter(kind=AirSource.Kind.FORECAST).exists()


def test_an_address_that_gives_the_key_away_is_refused(settings: Settings) -> None:
    settings.FORECAST_URL = "http://forecast.example/"
    make_company()
    assert refused("refresh_air")[1] == ["COATWEAVE_FORECAST_URL: must be https, not http"]


def test_every_company_but_the_demo_is_refreshed_each_with_its_own_air(feed: None) -> None:
    for name, is_demo in (("North", False), ("South", False), ("Demo", True)):
        make_house(make_company(name, is_demo=is_demo), f"{name} house", **HERE)
    make_house(Company.objects.get(name="South"), "Nowhere")
    said = output("refresh_air", transport=answering(HUMID), now=NOW)
    assert "(North house)" in said
    assert "as they have no position: Nowhere; Forecast 53.34, -6.26 is used" in said
    owners = AirSource.objects.filter(kind=AirSource.Kind.FORECAST).order_by("company__name")
    assert list(owners.values_list("company__name", flat=True)) == ["North", "South"]
    assert "(Demo house)" in output(
        "refresh_air", "--company", "Demo", transport=answering(HUMID), now=NOW
    )


def test_a_reading_counts_for_its_house() -> None:
    make_site(system=DRYING)
    said = output(
        "note_air", "Mill Cottage", "59", "62.5", "--unit", "F",
        "--at", "07:40", "--today", "2026-03-02",
    )  # fmt: skip
    assert said == "Mill Cottage: 15 C, 62.5 %; manage.py replan plans with it\n"
    source = AirSource.objects.get(kind=AirSource.Kind.READINGS)
    day = AirDay.objects.get(source=source)
    assert (source.house.name if source.house else "", str(day.day)) == (
        "Mill Cottage", "2026-03-02",
    )  # fmt: skip
    assert (day.temperature_c[7], day.humidity[7]) == (15, 0.625)
    assert day.temperature_c.count(None) == 23
    shown = output("show_air", "Mill Cottage", "--today", "2026-03-02")
    assert "Mon 2 Mar 06:00  20.0 C, 50 %, on record" in shown
    assert "Mon 2 Mar 12:00  15.5 C, 61 %, as read in the house" in shown


@pytest.mark.parametrize(
    ("temperature", "percent", "at", "said"),
    [
        (
            "68",
            "60",
            "07:40",
            ["temperature: 68 C cannot be the air of a house (is it Fahrenheit?)"],
        ),
        ("-40", "60", "07:40", ["temperature: -40 C cannot be the air of a house"]),
        (
            "15",
            "0.6",
            "07:40",
            ["humidity: looks like fractions of 1: write percent, 78 and not 0.78"],
        ),
        ("nan", "nan", "07:40", ["temperature: nan", "humidity: nan"]),
        ("15", "101", "soon", ["time: 'soon'", "humidity: 101 is not from 0 to 100 percent"]),
        ("15", "60", "2026-03-03 07:00", ["time: 2026-03-03 07:00Z is still to come"]),
        ("15", "60", "2026-03-29 01:30", ["time: 2026-03-29 01:30 does not exist"]),
    ],
)
def test_a_reading_that_cannot_be(temperature: str, percent: str, at: str, said: list[str]) -> None:
    make_site(system=DRYING)
    command = ("note_air", "Mill Cottage", temperature, percent, "--at", at)
    found = refused(*command, "--today", "2026-03-02")[1]
    assert len(found) == len(said) + 1
    for fault, start in zip(found, said, strict=False):
        assert fault.startswith(start)
    assert not AirSource.objects.filter(kind=AirSource.Kind.READINGS).exists()


def test_where_a_houses_air_comes_from(feed: None) -> None:
    make_site(system=DRYING, **HERE)
    output("refresh_air", transport=answering(HUMID), now=MONDAY)
    shown = output("show_air", "Mill Cottage", "--today", "2026-03-03").splitlines()
    assert shown[0] == (
        "Forecast 53.34, -6.26 (forecast): Mon 2 Mar 00:00 to Mon 9 Mar 00:00; fetched 24 hours ago"
    )
    assert shown[1] == "Station (station): Tue 10 Feb 00:00 to Sun 22 Mar 00:00"
    assert shown[2] == "Tue 3 Mar 00:00  14.0 C, 90 %, as forecast"
    assert "Mon 9 Mar 00:00  20.0 C, 50 %, on record" in shown
    assert shown[-1] == "from Sun 22 Mar 00:00 on the air is assumed"


def test_a_day_before_a_forecast_was_fetched_says_so(feed: None) -> None:
    make_site(system=DRYING, **HERE)
    output("refresh_air", transport=answering(HUMID), now=NOW)
    assert "; fetched 5 minutes later" in output(
        "show_air", "Mill Cottage", "--today", "2026-03-02"
    )


def test_why_a_house_has_no_air_to_show() -> None:
    company = make_company()
    house = make_house(company)
    shown = ("show_air", "Mill Cottage", "--today", "2026-03-02")
    assert output(*shown) == (
        "Mill Cottage: there is no air for it: import a station's, or name one of several\n"
    )
    steady_air(company, temperature_c=20, humidity=0.5, days=0)
    assert output(*shown).splitlines() == [
        "Station (station): no hour known",
        "Mill Cottage: fewer than 24 hours of its air are on record",
    ]
    house.is_active = False
    house.save()
    assert output(*shown).splitlines()[-1] == "Mill Cottage is no longer planned"
