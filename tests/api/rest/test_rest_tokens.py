"""/api/v1/tokens/: a program gives no token more than its own has, in no other name, no longer."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from finishing.models import ApiToken, Company, Deed, Role, SentRequest, User
from finishing.queries.rights import SCOPES, Right, rights_of_token
from finishing.services.tokens import make_token
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
TOKENS, HOUSES = "/api/v1/tokens/", "/api/v1/houses/"
NEW = {"name": "Gateway", "scopes": ["read"]}


@pytest.fixture
def company() -> Company:
    return make_company()


def owner_of(company: Company) -> User:
    return User.objects.create(email="o@example.com", company=company, role=Role.OWNER)


def test_a_token_is_shown_once_used_and_revoked(company: Company) -> None:
    asker = program(company)
    made = asker.post(TOKENS, NEW, idempotency_key="t")
    said = made.json()
    assert made.status_code == 201
    assert (said["works"], said["in_name_of"], said["expires_at"]) == (True, None, None)
    assert said["secret"].endswith(said["ending"])
    assert asker.post(TOKENS, NEW, idempotency_key="t").json() == {**said, "secret": ""}
    assert said["secret"] not in str(list(SentRequest.objects.values()))
    own, gateway = Program(said["secret"]), f"{TOKENS}{said['id']}/"
    assert (own.get(HOUSES).status_code, own.get(TOKENS).status_code) == (200, 403)
    looked = asker.get(gateway).json()
    assert (looked["secret"], looked["used_at"]) == ("", "2026-03-02T00:00:00Z")
    revoked = asker.post(f"{gateway}revoke/", None).json()
    assert (revoked["works"], revoked["revoked_at"]) == (False, "2026-03-02T00:00:00Z")
    assert own.get(HOUSES).status_code == 401
    again = asker.post(f"{gateway}revoke/", None)
    assert (again.status_code, again.json()["reason"]) == (409, "revoked")
    codes = Deed.objects.filter(about="Gateway").order_by("pk").values_list("code", flat=True)
    assert list(codes) == ["token_made", "token_ended"]


def test_all_faults_of_a_new_token_are_named_at_once(company: Company) -> None:
    asker, gone = program(company), owner_of(company)
    User.objects.filter(pk=gone.pk).update(is_active=False)
    asker.post(TOKENS, NEW)
    past = "2026-03-01T00:00:00Z"
    for body, at_fault in (
        ({}, ["name", "scopes"]),
        ({**NEW, "expires_at": past, "in_name_of": "x"}, ["expires_at", "in_name_of", "name"]),
        (
            {"name": "", "scopes": ["visits"], "expires_at": "now"},
            ["expires_at", "name", "scopes/0"],
        ),
        ({"name": "B", "scopes": [], "in_name_of": str(gone.public_id)}, ["in_name_of", "scopes"]),
    ):
        answer = asker.post(TOKENS, body)
        places = sorted({error["pointer"] for error in answer.json()["errors"]})
        assert (answer.status_code, places) == (422, [f"#/{name}" for name in at_fault])
    assert ApiToken.objects.count() == 2


@pytest.mark.parametrize("is_persons", [False, True])
def test_no_token_may_do_more_than_the_one_that_made_it(
    company: Company, *, is_persons: bool
) -> None:
    """Whatever a program that may own may do besides, and whatever it asks for."""
    person = owner_of(company) if is_persons else None
    for number in range(8):
        held = [Right.OWN, *(right for bit, right in enumerate(SCOPES[:3]) if number >> bit & 1)]
        maker, secret = make_token(
            company=company, name=f"Maker {number}", scopes=held, now=MONDAY, person=person
        )
        for asked in SCOPES:
            name = f"Made {number} {asked}"
            answer = Program(secret).post(TOKENS, {"name": name, "scopes": [asked]})
            made = ApiToken.objects.filter(name=name).first()
            may = asked in rights_of_token(maker)
            assert answer.status_code == (201 if may else 422), (held, asked)
            assert (made is not None) == may
            if made is not None:
                assert rights_of_token(made) <= rights_of_token(maker)
                assert (made.person, made.parent) == (person, maker)
            else:
                assert pointers(answer) == ["#/scopes"]


def test_a_program_makes_tokens_in_its_own_name_and_for_no_longer(company: Company) -> None:
    owner, end = owner_of(company), MONDAY + timedelta(days=2)
    other = User.objects.create(email="x@example.com", company=company, role=Role.OWNER)
    told: dict[str, Any] = {"company": company, "scopes": [*SCOPES], "now": MONDAY}
    _, machines = make_token(**told, name="Machine")
    _, owners = make_token(**told, name="Owner's", person=owner, expires_at=end)
    for secret in (machines, owners):
        body = {"name": "Made", "scopes": ["read"], "in_name_of": str(other.public_id)}
        refused = Program(secret).post(TOKENS, body)
        assert (refused.status_code, pointers(refused)) == (422, ["#/in_name_of"])
    late = {**NEW, "expires_at": "2026-03-05T00:00:00Z"}
    assert pointers(Program(owners).post(TOKENS, late)) == ["#/expires_at"]
    made = Program(owners).post(TOKENS, {**NEW, "in_name_of": None, "expires_at": None}).json()
    assert (made["in_name_of"], made["expires_at"]) == (
        str(owner.public_id),
        "2026-03-04T00:00:00Z",
    )
    assert (made["made_by"], made["made_with"]) == ("o@example.com", "Owner's")


def test_what_a_program_made_ends_with_its_own_token(company: Company) -> None:
    owner = program(company)
    secrets, ids = [owner.secret], []
    for name in ("First", "Second"):
        body = {"name": name, "scopes": ["own", "read"]}
        made = Program(secrets[-1]).post(TOKENS, body).json()
        secrets.append(made["secret"])
        ids.append(made["id"])
    assert owner.post(f"{TOKENS}{ids[0]}/revoke/", None).status_code == 200
    statuses = [Program(secret).get(TOKENS).status_code for secret in secrets]
    assert statuses == [200, 401, 401]
    assert Deed.objects.filter(code="token_ended").count() == 2


def test_an_owner_who_is_signed_in_may_give_what_they_like(
    company: Company, sign_in: SignIn
) -> None:
    viewer = User.objects.create(email="v@example.com", company=company)
    browser: Client = sign_in(company)
    body = {"name": "Theirs", "scopes": ["read", "plan"], "in_name_of": str(viewer.public_id)}
    said = browser.post(TOKENS, body, content_type="application/json").json()
    assert (said["in_name_of"], said["made_by"]) == (str(viewer.public_id), "office1@example.com")
    assert Program(said["secret"]).post(HOUSES, {}).status_code == 403
    assert sign_in(company, Role.PLANNER).get(TOKENS).status_code == 403
