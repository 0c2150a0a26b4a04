"""The air page: sources, houses, and the visits that the newest air no longer fits."""

from datetime import datetime, timedelta
from typing import Any

import httpx
import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from finishing.models import AirSource, Company
from finishing.services.air import Reading, put_air_source, store_air
from finishing.services.forecasts import refresh_company_air
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house
from tests.forecast_answers import answering, forecast_answer
from tests.plans import published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

DRYING = "All-purpose drying"
HERE: dict[str, Any] = {"latitude": 53.3441, "longitude": -6.2637}
SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is twenty past midnight on the Monday that the sites are made for."""
    monkeypatch.setattr(timezone, "now", lambda: SOON)


@pytest.fixture
def feed(settings: Settings) -> None:
    settings.FORECAST_URL, settings.FORECAST_KEY = "https://forecast.example/v1", "sesame"


def air_text(client: Client) -> str:
    """Return the page with the part that it fetches."""
    responses = [client.get(address) for address in ("/air/", "/air/now/")]
    assert [response.status_code for response in responses] == [200, 200]
    return " ".join(" ".join(response.content.decode() for response in responses).split())


def fetch(company: Company, response: httpx.Response, now: datetime = MONDAY) -> None:
    refresh_company_air(company=company, now=now, transport=answering(response))


def forecast(**changed: Any) -> httpx.Response:
    return httpx.Response(200, json=forecast_answer(**changed))


def test_every_source_says_what_it_is_what_it_knows_and_how_old_that_is(
    sign_in: SignIn, feed: None
) -> None:
    company, _ = make_site(**HERE)
    fetch(company, forecast())
    old = put_air_source(company=company, name="Loft logger", kind=AirSource.Kind.LOGGER)
    store_air(source=old, readings={MONDAY - timedelta(hours=51): Reading(12.0, 0.7)})
    page = sign_in(company).get("/air/").context["page"]
    told = {line.name: (line.kind, line.known, line.age, line.failed) for line in page.sources}
    assert told == {
        "Forecast 53.34, -6.26": (
            "outdoor air to come, of a place",
            "Mon 2 Mar 00:00 to Mon 9 Mar 00:00",
            "reaches 6 days ahead, fetched 20 minutes ago",
            False,
        ),
        "Loft logger": (
            "a device inside one house",
            "Fri 27 Feb 21:00 to Fri 27 Feb 22:00",
            "its newest hour is 2 days old",
            False,
        ),
        "Station": (
            "outdoor air of a place",
            "Tue 10 Feb 00:00 to Sun 22 Mar 00:00",
            "reaches 19 days ahead",
            False,
        ),
    }


def test_a_failed_fetch_is_told_in_plain_words_without_address_or_key(
    sign_in: SignIn, feed: None
) -> None:
    company, _ = make_site(**HERE)
    fetch(company, forecast(), now=MONDAY - timedelta(hours=3))
    said = {"error": True, "reason": "sesame is no key of https://forecast.example/v1"}
    fetch(company, httpx.Response(400, json=said))
    text = air_text(sign_in(company))
    assert "fetched 3 hours ago; the attempt 20 minutes ago failed: the server answered 400" in text
    assert "[key] is no key of https://[address]/v1" in text
    assert "sesame" not in text
    assert "forecast.example" not in text


def test_every_house_says_which_air_it_has_now(sign_in: SignIn, feed: None) -> None:
    company, house = make_site(**HERE)
    make_house(company, "Weir House")
    fetch(company, forecast(temperature_c=8.25, percent=80))
    page = sign_in(company).get("/air/now/").context["part"]
    lines = [(line.house.name, line.air, line.sources) for line in page.houses]
    assert lines == [
        # An open shell has the outdoor air; a house without a position the only forecast.
        (house.name, "8.2 °C, 80 %, as forecast", "Forecast 53.34, -6.26, Station"),
        ("Weir House", "8.2 °C, 80 %, as forecast", "Forecast 53.34, -6.26, Station"),
    ]
    assert {line.assumed_from for line in page.houses} == {"Sun 22 Mar 00:00"}


def test_a_house_without_air_says_so(sign_in: SignIn) -> None:
    company = make_company()
    make_house(company)
    text = air_text(sign_in(company))
    assert "There is no air for it: import a station" in text
    assert "There is no air yet" in text


def test_visits_before_a_coat_is_dry_are_listed_with_what_they_find_and_why(
    sign_in: SignIn, feed: None
) -> None:
    company, _ = make_site(system=DRYING, **HERE)
    published_from(company, MONDAY)
    client = sign_in(company)
    assert "Every published visit finds its coats dry" in air_text(client)
    fetch(company, forecast(temperature_c=14, percent=90))
    text = air_text(client)
    assert "These visits arrive before the coat is dry" in text
    assert "Tue 3 Mar 07:35, North crew" in text
    assert "Second coat (Hall) over Tape coat, which is ready" in text
    assert "by the air as forecast" in text
    assert "too cold or too hot" not in text


def test_visits_into_cold_air_are_listed_with_the_hour(sign_in: SignIn, feed: None) -> None:
    company, _ = make_site(system=DRYING, **HERE)
    published_from(company, MONDAY)
    fetch(company, forecast(temperature_c=8, percent=50))
    text = air_text(sign_in(company))
    assert "These visits put a coat into air too cold or too hot for it" in text
    assert "Tape coat (Hall): Mon 2 Mar 00:00 its air is at 8 °C, below 10, as forecast" in text


def test_another_companys_air_and_visits_are_nowhere(sign_in: SignIn, feed: None) -> None:
    theirs, _ = make_site(system=DRYING, **HERE)
    published_from(theirs, MONDAY)
    fetch(theirs, forecast(temperature_c=14, percent=90))
    text = air_text(sign_in(make_company("Other Finishing")))
    assert "Mill Cottage" not in text
    assert "Station" not in text
    assert "Every published visit finds its coats dry" in text


def test_without_houses_or_crews_there_is_no_button(sign_in: SignIn, started: list[int]) -> None:
    client = sign_in(make_company())
    text = air_text(client)
    assert "Nothing can be planned before there are houses and crews" in text
    assert "Plan again" not in text
    assert client.post("/runs/new/").headers["Location"] == "/runs/"
    assert started == []
