"""Who may ask, and what else goes wrong: always a problem document (RFC 9457)."""

from typing import Any

import pytest
from django.test import Client

from api.rest.parsers import MOST_BYTES, MOST_BYTES_OF_HOURS, MOST_HOURS
from api.rest.problems import BY_CODE
from finishing.models import AirDay, AirSource, House
from tests.api.conftest import SignIn
from tests.api.rest.answers import Answer
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db
NOBODYS = "00000000-0000-7000-8000-000000000000"


def problem(response: Answer, status: int) -> dict[str, Any]:
    """The document, which says what the status line says (RFC 9457 section 3.1)."""
    assert response.status_code == status
    assert response["Content-Type"] == "application/problem+json"
    body: dict[str, Any] = response.json()
    assert body["status"] == status
    assert BY_CODE[body["type"].removeprefix("/api/v1/problems/").rstrip("/")].status == status
    assert body["title"]
    assert body["detail"]
    return body


def make_air() -> tuple[House, AirSource]:
    company = make_company()
    source = AirSource.objects.create(company=company, name="Station")
    return make_house(company), source


def addresses(house: object, source: object) -> list[tuple[str, str]]:
    return [
        ("GET", f"/api/v1/houses/{house}/water/"),
        ("GET", f"/api/v1/houses/{house}/air/"),
        ("POST", f"/api/v1/houses/{house}/readings/"),
        ("POST", f"/api/v1/air-sources/{source}/hours/"),
    ]


def test_another_companys_rows_are_not_here(sign_in: SignIn) -> None:
    house, source = make_air()
    client = sign_in(make_company("Another firm"))
    for method, address in addresses(house.public_id, source.public_id):
        body = problem(client.generic(method, address, "[]", content_type="application/json"), 404)
        assert "There is no such" in body["detail"]
    for method, address in addresses(NOBODYS, NOBODYS):
        problem(client.generic(method, address, "[]", content_type="application/json"), 404)
    assert not AirDay.objects.exists()


def test_nobody_is_told_anything_without_signing_in(sign_in: SignIn) -> None:
    house, source = make_air()
    open_to_all = [*addresses(house.public_id, source.public_id), ("GET", "/api/v1/odds/")]
    for method, address in [
        *open_to_all,
        ("GET", "/api/v1/air-sources/"),
        ("GET", "/api/v1/schema/"),
    ]:
        response = Client().generic(method, address, "[]", content_type="application/json")
        problem(response, 401)
        assert response["WWW-Authenticate"].startswith("Bearer ")


def test_somebody_of_no_company_finds_nothing(sign_in: SignIn) -> None:
    problem(sign_in(None).get("/api/v1/odds/"), 404)


def test_another_site_cannot_post_in_somebodys_name(sign_in: SignIn) -> None:
    house, source = make_air()
    client = sign_in(house.company)
    client.handler.enforce_csrf_checks = True
    address = f"/api/v1/air-sources/{source.public_id}/hours/"
    body = problem(client.post(address, "[]", content_type="application/json"), 403)
    assert "CSRF" in body["detail"]


@pytest.mark.parametrize(
    ("sent", "content_type", "status"),
    [
        ("at=now", "application/x-www-form-urlencoded", 415),
        ("<hours/>", "application/xml", 415),
        ("[", "application/json", 400),
        ('[{"temperature_c": NaN}]', "application/json", 400),
        ('[{"temperature_c": Infinity}]', "application/json", 400),
        (b'["\xff"]', "application/json", 400),
        ("[" * 200_000, "application/json", 400),
        ("[" + " " * MOST_BYTES_OF_HOURS + "]", "application/json", 413),
        ('[{"temperature_c": 1' + "0" * 400 + "}]", "application/json", 422),
        ('{"humidity_percent": -1' + "0" * 400 + "}", "application/json", 422),
        ('[{"temperature_c": 1e999}]', "application/json", 422),
        ('[{"\\ud800": 1}]', "application/json", 400),
        ('{"temperature_c": "\\uDC00"}', "application/json", 400),
        ('{"humidity_percent": 60, "humidity_percent": 6}', "application/json", 400),
        ("", "application/json", 422),
        ("null", "application/json", 422),
    ],
)
def test_what_cannot_be_read_is_refused(
    sign_in: SignIn, sent: str | bytes, content_type: str, status: int
) -> None:
    house, source = make_air()
    client = sign_in(house.company)
    for method, address in addresses(house.public_id, source.public_id)[2:]:
        problem(client.generic(method, address, sent, content_type=content_type), status)
    assert not AirDay.objects.exists()


def test_a_name_that_is_there_twice_is_named_and_half_a_pair_is_no_text(sign_in: SignIn) -> None:
    house, _ = make_air()
    client, address = sign_in(house.company), f"/api/v1/houses/{house.public_id}/"
    for sent, said in (
        ('{"weight": 3, "opens_on": null, "weight": 4}', '["weight"]'),
        ('{"\\ud800": 1}', "surrogate"),
        ('{"name": "\\ud83d\\ude00 \\ud83d"}', "surrogate"),
    ):
        answer = client.patch(
            address, sent, content_type="application/json", headers={"if-match": "*"}
        )
        assert said in problem(answer, 400)["detail"]
    house.refresh_from_db()
    assert house.version == 1


def test_other_methods_and_answers_are_refused(sign_in: SignIn) -> None:
    house, _ = make_air()
    client, address = sign_in(house.company), f"/api/v1/houses/{house.public_id}/water/"
    refused = client.put(address)
    problem(refused, 405)
    assert "GET" in refused["Allow"]
    problem(client.get(address, headers={"accept": "text/csv"}), 406)


def test_a_question_that_is_no_good_is_not_told_of_storing(sign_in: SignIn) -> None:
    house, _ = make_air()
    asked = sign_in(house.company).get(
        f"/api/v1/houses/{house.public_id}/water/?humidity_percent=x"
    )
    assert problem(asked, 422)["detail"] == "What was asked for cannot be read."


def test_hours_may_be_many_and_other_bodies_are_small(sign_in: SignIn) -> None:
    house, source = make_air()
    client = sign_in(house.company)
    readings, hours = (address for _, address in addresses(house.public_id, source.public_id)[2:])
    large = "[" + " " * MOST_BYTES + "]"
    for address, body, status in (
        (hours, large, 422),
        (readings, large, 413),
        (hours, "[" + "0," * MOST_HOURS + "0]", 413),
    ):
        problem(client.post(address, body, content_type="application/json"), status)
