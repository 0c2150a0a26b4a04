"""GET /api/v1/houses/<uuid>/air/."""

import numpy as np
import pytest

from finishing.models import AirSource, Area, CoatDone
from scheduling.services.inputs import build_inputs
from tests.api.conftest import SignIn
from tests.sites import MONDAY, make_heated_site

pytestmark = pytest.mark.django_db


def test_hours_are_those_that_planning_reads(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    query = {"from": "2026-03-03T00:30Z", "to": "2026-03-03T05:00Z"}
    response = sign_in(company).get(f"/api/v1/houses/{house.public_id}/air/", query)
    assert response.status_code == 200
    hours = response.json()["hours"]
    assert [hour["at"] for hour in hours] == [f"2026-03-03T0{n}:00:00Z" for n in range(5)]
    inputs = build_inputs(company=company, now=MONDAY)
    air = inputs.airs[str(house.public_id)]
    first = 15 * 24  # planning looks two weeks back from Monday
    assert inputs.timeline.instant(first * 12).isoformat() == "2026-03-03T00:00:00+00:00"
    humidity = [hour["humidity_percent"] / 100 for hour in hours]
    assert np.allclose(humidity, air.humidity[first : first + 5], atol=1e-4)
    assert {hour["source_kind"] for hour in hours} == {"record"}
    assert {hour["temperature_c"] for hour in hours} == {20.0}


def test_water_left_falls_as_a_coat_dries(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    area = Area.objects.get(house=house)
    CoatDone.objects.create(company=company, area=area, stage="tape", ended_at=MONDAY)
    response = sign_in(company).get(f"/api/v1/houses/{house.public_id}/air/")
    left = [hour["water_left_kg"] for hour in response.json()["hours"]]
    assert len(left) == 7 * 24
    assert left[0] > 1.0
    assert left == sorted(left, reverse=True)
    assert left[-1] == pytest.approx(0.0, abs=1e-3)


def test_hours_that_planning_does_not_reach_are_left_out(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    address, client = f"/api/v1/houses/{house.public_id}/air/", sign_in(company)
    query = {"from": "2026-02-15T00:00Z", "to": "2026-02-17T00:00Z"}
    found = client.get(address, query).json()["hours"]
    assert (found[0]["at"], len(found)) == ("2026-02-16T00:00:00Z", 24)
    years_ago = {"from": "2016-02-15T00:00Z", "to": "2016-02-16T00:00Z"}
    assert client.get(address, years_ago).json() == {"hours": []}
    in_years = {"from": "2036-02-15T00:00Z", "to": "2036-02-16T00:00Z"}
    assert client.get(address, in_years).json() == {"hours": []}


@pytest.mark.parametrize(
    ("query", "at_fault"),
    [
        ({"from": "yesterday", "to": "2026-03-03T00:00"}, ["from", "to"]),
        ({"from": "2026-03-03T00:00Z", "to": "2026-03-03T00:00Z"}, ["to"]),
        ({"from": "2026-03-01T00:00Z", "to": "2026-04-01T01:00Z"}, ["to"]),
        ({"from": "2026-03-01T00:00Z" * 100}, ["from"]),
    ],
)
def test_a_span_that_cannot_be_is_refused(
    sign_in: SignIn, query: dict[str, str], at_fault: list[str]
) -> None:
    company, house = make_heated_site()
    response = sign_in(company).get(f"/api/v1/houses/{house.public_id}/air/", query)
    assert response.status_code == 422
    assert [error["parameter"] for error in response.json()["errors"]] == at_fault


def test_31_days_are_allowed(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    query = {"from": "2026-03-01T00:00Z", "to": "2026-04-01T00:00Z"}
    response = sign_in(company).get(f"/api/v1/houses/{house.public_id}/air/", query)
    assert len(response.json()["hours"]) == 31 * 24


def test_a_house_without_air_is_a_conflict(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    AirSource.objects.all().delete()
    response = sign_in(company).get(f"/api/v1/houses/{house.public_id}/air/")
    assert response.status_code == 409
