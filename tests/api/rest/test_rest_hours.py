"""POST hours of air and readings: all faults at once, nothing stored on any."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.test import Client

from finishing.models import AirDay, AirSource, Company
from finishing.queries.air import hourly_air
from tests.api.conftest import SignIn
from tests.api.rest.answers import Answer
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db
NEW_DAY = date(2026, 3, 1)


def make_source(company: Company, kind: str = "station") -> AirSource:
    return AirSource.objects.create(company=company, name=f"A {kind}", kind=kind)


def hours(*celsius: float) -> list[dict[str, Any]]:
    return [
        {"at": f"2026-03-01T{n:02}:00Z", "temperature_c": value, "humidity_percent": 80}
        for n, value in enumerate(celsius)
    ]


def post(client: Client, address: str, body: Any) -> Answer:
    return client.post(address, body, content_type="application/json")


def test_hours_are_stored_again_and_again_with_the_same_result(sign_in: SignIn) -> None:
    company = make_company()
    source, client = make_source(company), sign_in(company)
    address = f"/api/v1/air-sources/{source.public_id}/hours/"
    for _ in range(2):
        response = client.post(address, hours(5, 6, 7), content_type="application/json")
        assert response.status_code == 200
        assert response.json() == {
            "stored": 3,
            "first": "2026-03-01T00:00:00Z",
            "last": "2026-03-01T02:00:00Z",
        }
    day = AirDay.objects.get(source=source)
    assert (day.company, day.day) == (company, NEW_DAY)
    assert day.temperature_c == [5.0, 6.0, 7.0, *[None] * 21]
    assert day.humidity[:4] == [0.8, 0.8, 0.8, None]


def test_on_any_fault_nothing_is_stored(sign_in: SignIn) -> None:
    company = make_company()
    source, client = make_source(company), sign_in(company)
    sent = hours(5, 6, 7)
    sent[1]["humidity_percent"], sent[2]["at"] = 180, "2026-03-01T00:00Z"
    response = post(client, f"/api/v1/air-sources/{source.public_id}/hours/", sent)
    assert response.status_code == 422
    assert response["Content-Type"] == "application/problem+json"
    assert response.json()["errors"] == [
        {"pointer": "#/1/humidity_percent", "detail": "180 must not be above 100"},
        {"pointer": "#/2/at", "detail": "2026-03-01 00:00Z is already on #/0"},
    ]
    assert not AirDay.objects.exists()


def test_holes_are_taken_only_when_they_are_said_to_be_there(sign_in: SignIn) -> None:
    company = make_company()
    source, client = make_source(company), sign_in(company)
    address, sent = f"/api/v1/air-sources/{source.public_id}/hours/", hours(5, 6, 7)
    del sent[1]
    assert post(client, address, sent).status_code == 422
    assert post(client, address + "?holes=perhaps", sent).status_code == 422
    assert not AirDay.objects.exists()
    assert post(client, address + "?holes=yes", sent).status_code == 200


@pytest.mark.parametrize("kind", ["forecast", "readings"])
def test_other_sources_take_no_hours(sign_in: SignIn, kind: str) -> None:
    company = make_company()
    source = make_source(company, kind)
    response = post(sign_in(company), f"/api/v1/air-sources/{source.public_id}/hours/", hours(5))
    assert response.status_code == 409
    assert not AirDay.objects.exists()


def test_the_list_of_sources_names_the_companys_own(sign_in: SignIn) -> None:
    company = make_company()
    source = make_source(company)
    make_source(make_company("Another firm"))
    (said,) = sign_in(company).get("/api/v1/air-sources/").json()["results"]
    assert (said["id"], said["name"], said["kind"]) == (
        str(source.public_id),
        "A station",
        "station",
    )


def test_a_reading_is_stored_for_its_hour(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    sent = {"at": "2026-03-01T22:40Z", "temperature_f": 68, "humidity_percent": 61.5}
    response = post(sign_in(company), f"/api/v1/houses/{house.public_id}/readings/", sent)
    assert response.status_code == 201
    assert response.json() == {
        "at": "2026-03-01T22:40:00Z",
        "temperature_c": 20.0,
        "humidity_percent": 61.5,
    }
    source = AirSource.objects.get(house=house, kind="readings")
    hour = hourly_air(source, first_hour=datetime(2026, 3, 1, 22, tzinfo=UTC), hours=1)
    assert (hour.temperature_c[0], hour.humidity[0]) == (20.0, 0.615)


def test_a_faulty_reading_is_not_stored(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    sent = {"at": "2026-03-02T22:40Z", "temperature_c": 68, "humidity_percent": 0.6}
    response = post(sign_in(company), f"/api/v1/houses/{house.public_id}/readings/", sent)
    assert response.status_code == 422
    at_fault = [error["pointer"] for error in response.json()["errors"]]
    assert at_fault == ["#/temperature_c", "#/humidity_percent", "#/at"]
    assert not AirSource.objects.exists()
