"""Which programs may ask over the API: an owner makes tokens, sees them, revokes them."""

import re
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import ApiToken, Company, Deed, Role, User
from finishing.queries.rights import Right
from finishing.services.tokens import make_token
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import Program
from tests.factories import make_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
TOKENS, HOUSES = "/company/tokens/", "/api/v1/houses/"
SENT = {"name": "Gateway", "scopes": ["read"], "person": "", "last_day": ""}


@pytest.fixture
def company() -> Company:
    return make_company()


@pytest.fixture
def owner(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def secret_in(page: str) -> str:
    (secret,) = re.findall(r"coatweave_[\w-]{43}", page)
    return str(secret)


def test_a_token_is_shown_once_and_works(company: Company, owner: Client) -> None:
    made = owner.post(TOKENS, SENT)
    assert made.headers["Cache-Control"].count("no-store") == 1
    secret = secret_in(made.text)
    assert Program(secret).get(HOUSES).status_code == 200
    assert Program(secret).post(HOUSES, {}).status_code == 403
    again = owner.get(TOKENS).text
    assert "coatweave_…" + secret[-4:] in again
    assert secret not in again
    assert "Never used" not in again
    deed = Deed.objects.get()
    assert (deed.code, deed.about, secret in str(deed.values)) == ("token_made", "Gateway", False)


def test_a_person_and_a_last_day_go_with_it(company: Company, owner: Client) -> None:
    person = User.objects.create(email="v@example.com", company=company, role=Role.VIEWER)
    sent = {**SENT, "person": str(person.public_id), "last_day": "2099-03-04"}
    owner.post(TOKENS, {**sent, "scopes": ["read", "plan"]})
    token = ApiToken.objects.get()
    assert (token.person, token.scopes) == (person, ["read", "plan"])
    assert token.expires_at == datetime(2099, 3, 5, tzinfo=ZoneInfo(company.zone))


def test_all_faults_are_said_and_nothing_is_made(owner: Client) -> None:
    page = owner.post(TOKENS, {"name": "", "person": "x", "last_day": "2026-13-01"})
    assert page.status_code == 422
    for said in ("Say what it is called", "Choose at least one", "This is not a day"):
        assert said in page.text
    assert not ApiToken.objects.exists()


def test_a_day_that_is_over_and_a_name_that_is_taken_are_refused(owner: Client) -> None:
    owner.post(TOKENS, SENT)
    page = owner.post(TOKENS, {**SENT, "last_day": "2001-01-01"})
    assert page.status_code == 422
    assert "There is a token of this name" in page.text
    assert "is over already" in page.text
    assert ApiToken.objects.count() == 1


def test_a_token_is_revoked_once_after_asking(company: Company, owner: Client) -> None:
    token, secret = make_token(company=company, name="G", scopes=[Right.READ], now=MONDAY)
    address = f"{TOKENS}{token.public_id}/revoke/"
    asked = owner.get(address).text
    assert "Revoke the token of G?" in asked
    assert "tokens that it made" in asked
    assert owner.post(address, {"version": 1}).status_code == 302
    assert Program(secret).get(HOUSES).status_code == 401
    assert owner.post(address, {"version": 1}).status_code == 409
    assert [deed.code for deed in Deed.objects.order_by("pk")] == ["token_made", "token_ended"]
    assert "Revoked" in owner.get(TOKENS).text


def test_the_page_takes_the_same_queries_with_many_tokens(
    company: Company, owner: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(12):
        make_token(company=company, name=f"G{number}", scopes=[Right.READ], now=MONDAY)
    with django_assert_max_num_queries(6):
        assert owner.get(TOKENS).status_code == 200
