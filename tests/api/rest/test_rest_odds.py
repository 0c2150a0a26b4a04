"""GET /api/v1/odds/."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from finishing.models import AirSource
from scheduling.services.odds import current_odds
from tests.api.conftest import SignIn
from tests.plans import plan_from
from tests.sites import MONDAY, make_site, steady_air

pytestmark = pytest.mark.django_db(transaction=True)


def test_it_gives_the_odds_of_each_handover(sign_in: SignIn) -> None:
    company, house = make_site()
    AirSource.objects.all().delete()
    steady_air(company, temperature_c=20.0, humidity=0.5, first=date(2026, 1, 20))
    plan_from(company)
    client = sign_in(company)
    with CaptureQueriesContext(connection) as first:
        got = client.get("/api/v1/odds/").json()
    with CaptureQueriesContext(connection) as again:
        assert client.get("/api/v1/odds/").json() == got
    assert 2 * len(again) < len(first), "it is kept, not worked out anew"
    expected = current_odds(company=company, now=MONDAY)
    assert got["histories"] == 500
    (promise,) = got["handovers"]
    assert (promise["house"], promise["areas"]) == (house.name, ["Ground floor"])
    assert promise["due_on"] == "2026-03-27"
    assert promise["in_time"] == expected.handovers[0].in_time == 1.0
    assert date.fromisoformat(promise["holds_on"]) == expected.handovers[0].holds_on


def test_without_a_plan_there_are_no_odds(sign_in: SignIn) -> None:
    company, _ = make_site()
    response = sign_in(company).get("/api/v1/odds/")
    assert response.status_code == 409
    assert response["Content-Type"] == "application/problem+json"
    assert response.json()["detail"] == "No work is planned yet."


def test_too_short_a_record_is_a_conflict(sign_in: SignIn) -> None:
    company, _ = make_site()
    AirSource.objects.all().delete()
    steady_air(company, temperature_c=20.0, humidity=0.5, first=date(2026, 2, 26), days=6)
    plan_from(company)
    response = sign_in(company).get("/api/v1/odds/")
    assert response.status_code == 409
    assert "at least 10 are needed" in response.json()["detail"]
