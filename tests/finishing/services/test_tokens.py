"""Tokens of the API: told once, kept as a hash, over when they are over."""

import logging
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from finishing.config.redact import SecretsFilter
from finishing.models import ApiToken, Invitation, Role, User
from finishing.queries.rights import SCOPES, Right, rights_of_token
from finishing.services.errors import InputFaults
from finishing.services.invitations import invite
from finishing.services.people import change_role
from finishing.services.rows import StaleRowsError
from finishing.services.tokens import PREFIX, find_token, make_token, revoke_token
from tests.factories import make_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def make_person(role: Role, email: str = "a@example.com") -> User:
    return User.objects.create(email=email, company=make_company(), role=role)


def test_a_secret_is_kept_nowhere() -> None:
    token, secret = make_token(
        company=make_company(), name="Gateway", scopes=[Right.READ], now=MONDAY
    )
    assert secret.startswith(PREFIX)
    stored = ApiToken.objects.filter(pk=token.pk).values()[0]
    assert secret not in str(stored)
    assert secret.removeprefix(PREFIX) not in str(stored)
    assert find_token(secret, now=MONDAY) == token


@pytest.mark.parametrize("change", ["short", "long", "other", "empty"])
def test_a_secret_that_is_not_quite_it_finds_nothing(change: str) -> None:
    _, secret = make_token(company=make_company(), name="G", scopes=[Right.READ], now=MONDAY)
    other = "A" if secret[-1] != "A" else "B"
    wrong = {"short": secret[:-1], "long": secret + "A", "other": secret[:-1] + other, "empty": ""}
    assert find_token(wrong[change], now=MONDAY) is None


def test_a_token_that_is_over_finds_nothing() -> None:
    company = make_company()
    over, secret = make_token(
        company=company, name="A", scopes=[Right.READ], now=MONDAY, expires_at=MONDAY + DAY
    )
    assert find_token(secret, now=MONDAY + DAY - timedelta(seconds=1)) == over
    assert find_token(secret, now=MONDAY + DAY) is None
    token, revoked = make_token(company=company, name="B", scopes=[Right.READ], now=MONDAY)
    revoke_token(token=token, version=1, now=MONDAY)
    assert find_token(revoked, now=MONDAY) is None
    with pytest.raises(StaleRowsError):
        revoke_token(token=token, version=1, now=MONDAY)


@pytest.mark.parametrize("change", [{"is_active": False}, {"company": None}])
def test_a_token_ends_with_its_persons_sign_in(change: dict[str, object]) -> None:
    person = make_person(Role.OWNER)
    assert person.company is not None
    _, secret = make_token(
        company=person.company, name="A", scopes=[Right.READ], person=person, now=MONDAY
    )
    User.objects.filter(pk=person.pk).update(**change)
    assert find_token(secret, now=MONDAY) is None


def test_a_persons_token_may_do_no_more_than_the_person() -> None:
    person = make_person(Role.VIEWER)
    assert person.company is not None
    token, _ = make_token(
        company=person.company, name="A", scopes=[*Right], person=person, now=MONDAY
    )
    assert rights_of_token(token) == {Right.VISITS, Right.READ}
    machine, _ = make_token(company=person.company, name="B", scopes=[Right.PLAN], now=MONDAY)
    assert rights_of_token(machine) == {Right.VISITS, Right.READ, Right.PLAN}


def test_use_is_noted_once_a_minute() -> None:
    token, secret = make_token(company=make_company(), name="A", scopes=[Right.READ], now=MONDAY)
    noted = []
    for seconds in (0, 59, 60):
        find_token(secret, now=MONDAY + timedelta(seconds=seconds))
        token.refresh_from_db()
        noted.append(token.used_at)
    assert noted == [MONDAY, MONDAY, MONDAY + timedelta(seconds=60)]


def test_all_that_is_wrong_with_a_token_is_said_at_once() -> None:
    company, person = make_company("Other"), make_person(Role.OWNER)
    make_token(company=company, name="A", scopes=[Right.READ], now=MONDAY)
    with pytest.raises(InputFaults) as refused:
        make_token(
            company=company, name="A", scopes=[], person=person, now=MONDAY, expires_at=MONDAY
        )
    assert {fault.place for fault in refused.value.faults} >= {"name", "scopes", "person"}
    assert ApiToken.objects.count() == 1


def test_the_command_tells_the_secret_on_standard_output_alone(
    capsys: pytest.CaptureFixture[str],
) -> None:
    person = make_person(Role.PLANNER)
    call_command("make_token", "Office", "--scope", "plan", "--person", person.email, "--days", "9")
    out, err = capsys.readouterr()
    token = ApiToken.objects.get()
    assert find_token(out.strip(), now=token.made_at) == token
    assert (token.person, token.scopes) == (person, ["plan"])
    assert token.expires_at == token.made_at + timedelta(days=9)
    assert out.strip() not in err
    with pytest.raises(CommandError, match="nobody"):
        call_command("make_token", "Other", "--person", "nobody@example.com")
    with pytest.raises(CommandError, match="There is a token of this name"):
        call_command("make_token", "Office")


def test_no_log_shows_a_token() -> None:
    _, secret = make_token(company=make_company(), name="A", scopes=[Right.READ], now=MONDAY)
    record = logging.LogRecord("django", 20, "", 0, "asked with %s", (f"Bearer {secret}",), None)
    SecretsFilter().filter(record)
    assert record.getMessage() == "asked with Bearer [secret]"


def test_a_program_whose_token_was_revoked_at_this_moment_gives_nothing() -> None:
    """It was let in before; what revoked it has looked for what it made already."""
    company = make_company()
    program, _ = make_token(company=company, name="A", scopes=[*SCOPES], now=MONDAY)
    revoke_token(token=ApiToken.objects.get(pk=program.pk), version=1, now=MONDAY)
    told: dict[str, Any] = {"company": company, "now": MONDAY, "program": program}
    with pytest.raises(InputFaults, match="revoked at this moment"):
        make_token(**told, name="B", scopes=[Right.READ])
    with pytest.raises(InputFaults, match="revoked at this moment"):
        invite(**told, email="new@example.com", role=Role.VIEWER, crew=None, by=None)
    somebody = User.objects.create(email="a@example.com", company=company)
    with pytest.raises(InputFaults, match="revoked at this moment"):
        change_role(
            person=somebody,
            role=Role.PLANNER,
            crew=None,
            version=somebody.version,
            by=None,
            now=MONDAY,
            program=program,
        )
    assert ApiToken.objects.count() == 1
    assert not Invitation.objects.exists()


def test_who_ceased_to_be_an_owner_at_this_moment_gives_nothing() -> None:
    """They were let in before; what made them another role has looked for what they made."""
    person = make_person(Role.OWNER)
    User.objects.update(role=Role.PLANNER)
    told: dict[str, Any] = {"company": person.company, "now": MONDAY}
    with pytest.raises(InputFaults, match="another role at this moment"):
        make_token(**told, name="B", scopes=[Right.READ], made_by=person)
    with pytest.raises(InputFaults, match="another role at this moment"):
        invite(**told, email="new@example.com", role=Role.VIEWER, crew=None, by=person)
    assert not ApiToken.objects.exists()
    assert not Invitation.objects.exists()
