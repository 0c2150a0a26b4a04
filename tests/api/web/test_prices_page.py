"""The page on which the office edits what hours, ways and late days cost."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from finishing.models import Company, Price, Role
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db
PAGE = "/company/prices/"


@pytest.fixture
def company() -> Company:
    return make_company(currency="EUR")


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def new(**typed: Any) -> dict[str, Any]:
    """The page's form as a browser sends it, with one line added."""
    first = {"kind": "hour", "whose": "", "amount": "45,50", "since": "2026-03-02", **typed}
    blank = {"new-2-version": 0, "new-2-kind": "hour", "new-2-whose": ""}
    return {"new-1-version": 0, **{f"new-1-{k}": v for k, v in first.items()}, **blank}


def test_an_amount_is_typed_in_whole_money_and_kept_in_cents(
    client: Client, company: Company
) -> None:
    crew = make_crew(company)
    sent = new(whose=str(crew.public_id))
    assert client.post(PAGE, sent)["Location"] == PAGE + "?saved=yes"
    row = Price.objects.get()
    assert (row.kind, row.amount, row.crew, row.since) == ("hour", 4550, crew, date(2026, 3, 2))
    text = client.get(PAGE).content.decode()
    assert 'value="45.50"' in text
    assert "Amount, EUR" in text
    history = client.get("/company/history/").content.decode()
    assert "Price of Person-hour, North crew" in history
    assert "45.50\N{NO-BREAK SPACE}EUR" in history


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"amount": "0"}, "An hour costs more than 0"),
        ({"amount": "-3"}, "An amount is 0 or more."),
        ({"amount": "much"}, "This is no amount"),
        ({"amount": "NaN"}, "This is no amount"),
        ({"amount": "1e99"}, "check the zeros"),
        ({"amount": "45.505"}, "2 digits after the point"),
        ({"amount": ""}, "Say how much."),
        ({"since": ""}, "Choose the first day."),
        ({"kind": "hour", "house": True}, "never a house&#x27;s"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    client: Client, company: Company, typed: dict[str, Any], said: str
) -> None:
    if typed.pop("house", False):
        typed["whose"] = str(make_house(company).public_id)
    response = client.post(PAGE, new(**typed))
    assert response.status_code == 422
    assert said in response.content.decode()
    assert not Price.objects.exists()


def test_a_currency_without_a_minor_unit_takes_whole_figures(sign_in: SignIn) -> None:
    """ISO 4217 gives the yen no minor unit."""
    company = make_company(currency="JPY", currency_digits=0)
    client = sign_in(company)
    response = client.post(PAGE, new(amount="4500.5"))
    assert "no minor unit: type whole figures" in response.content.decode()
    client.post(PAGE, new(amount="4500"))
    assert Price.objects.get().amount == 4500
    assert 'value="4500"' in client.get(PAGE).content.decode()


@pytest.mark.parametrize("role", [Role.VIEWER, Role.CREW_LEAD])
def test_who_does_not_plan_sees_no_price(sign_in: SignIn, company: Company, role: Role) -> None:
    owner = sign_in(company)
    owner.post(PAGE, new())
    client = sign_in(company, role=role)
    assert client.get(PAGE).status_code == 403
    assert "Person-hour" not in client.get("/company/history/").content.decode()
    assert PAGE not in client.get("/company/").content.decode()
    edits = client.get("/api/v1/edits/").content.decode()
    assert "4550" not in edits
    assert "4550" in owner.get("/api/v1/edits/").content.decode()
