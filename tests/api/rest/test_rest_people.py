"""/api/v1/people/ and invitations/: who may sign in; nobody is let do more by a program than it
may do itself."""

from collections.abc import Callable
from datetime import timedelta
from smtplib import SMTPException
from typing import Any

import pytest
from django.core import mail
from django.test import Client

from finishing.models import Company, Deed, Invitation, Role, SentRequest, User
from finishing.queries.rights import Right
from finishing.services.tokens import make_token
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company, make_crew
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
PEOPLE, INVITATIONS = "/api/v1/people/", "/api/v1/invitations/"
NEW = {"email": "new@example.com", "role": "planner"}
type OnCommit = Callable[..., Any]


@pytest.fixture
def company() -> Company:
    return make_company()


def person(company: Company, role: Role = Role.VIEWER, name: str = "p") -> User:
    return User.objects.create_user(f"{name}@example.com", "words", company=company, role=role)


def opened(link: str) -> int:
    return Client().get(link.removeprefix("http://127.0.0.1:8000")).status_code


def test_people_are_listed_made_another_role_and_removed(company: Company) -> None:
    crew, asker, somebody = make_crew(company), program(company), person(company)
    person(company, Role.OWNER, "owner")
    person(make_company("Another firm"), name="stranger")
    said = asker.get(PEOPLE).json()["results"]
    assert [one["email"] for one in said] == ["p@example.com", "owner@example.com"]
    address, etag = f"{PEOPLE}{somebody.public_id}/", said[0]["etag"]
    leads = {"role": "crew_lead", "crew": str(crew.public_id)}
    changed = asker.patch(address, leads, etag).json()
    assert {name: changed[name] for name in leads} == leads
    assert asker.patch(address, {"role": "planner"}, etag).status_code == 412
    planner = asker.patch(address, {"role": "planner"}, changed["etag"]).json()
    assert (planner["role"], planner["crew"]) == ("planner", None), "it led the crew as a lead"
    for body, at_fault in (
        ({"role": "crew_lead"}, ["#/crew"]),
        ({"crew": str(crew.public_id), "email": "x@example.com"}, ["#/crew", "#/email"]),
        ({"role": "boss"}, ["#/role"]),
    ):
        answer = asker.patch(address, body, planner["etag"])
        assert (answer.status_code, pointers(answer)) == (422, at_fault)
    assert asker.delete(address, etag).status_code == 412
    assert asker.delete(address, planner["etag"]).status_code == 204
    assert asker.get(address).status_code == 404
    deeds = Deed.objects.exclude(code="token_made").order_by("pk")
    assert list(deeds.values_list("code", "by_email")) == [
        *[("role_changed", "")] * 2,
        ("removed", ""),
    ]
    assert deeds[0].program.startswith("Program of")


def test_the_last_owner_stays_one(company: Company) -> None:
    asker, owner = program(company), person(company, Role.OWNER)
    address = f"{PEOPLE}{owner.public_id}/"
    for refused in (asker.patch(address, {"role": "viewer"}, "*"), asker.delete(address, "*")):
        assert (refused.status_code, "only owner" in refused.json()["detail"]) == (409, True)
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == (Role.OWNER, True)


def test_somebody_is_invited_written_to_again_and_not_wanted_any_more(
    company: Company, django_capture_on_commit_callbacks: OnCommit, monkeypatch: pytest.MonkeyPatch
) -> None:
    asker = program(company)
    with django_capture_on_commit_callbacks(execute=True):
        made = asker.post(INVITATIONS, NEW, idempotency_key="i")
        assert not mail.outbox, "it waits until the invitation is stored"
    said = made.json()
    assert made.status_code == 201
    assert (said["invited_by"], said["program"]) == ("", f"Program of {company}  ")
    assert said["link"] in str(mail.outbox[0].body)
    assert f"Program of {company}" in str(mail.outbox[0].body)
    assert opened(said["link"]) == 200
    again = asker.post(INVITATIONS, NEW, idempotency_key="i").json()
    assert again == {**said, "link": ""}
    assert said["link"].split("/")[-2] not in str(list(SentRequest.objects.values()))
    (listed,) = asker.get(INVITATIONS).json()["results"]
    assert (listed["link"], listed["mailed_at"]) == (said["link"], "2026-03-02T00:00:00Z")
    address = f"{INVITATIONS}{said['id']}/"
    soon = asker.post(f"{address}send/", None)
    assert (soon.status_code, soon.json()["reason"]) == (409, "mailed")
    assert pointers(asker.post(INVITATIONS, NEW)) == ["#/email"], "nor by inviting them once more"
    Invitation.objects.update(mailed_at=MONDAY - timedelta(minutes=1))
    with django_capture_on_commit_callbacks(execute=True):
        assert asker.post(f"{address}send/", None).status_code == 200
    assert len(mail.outbox) == 2
    ended = asker.post(f"{address}withdraw/", None).json()
    assert (ended["withdrawn_at"], ended["link"]) == ("2026-03-02T00:00:00Z", "")
    assert opened(said["link"]) == 410
    refused = asker.post(f"{address}send/", None)
    assert (refused.status_code, refused.json()["reason"]) == (409, "ended")
    assert asker.get(INVITATIONS).json()["results"] == []

    def away(*_args: object) -> None:
        raise SMTPException

    Invitation.objects.update(mailed_at=MONDAY - timedelta(minutes=1))
    monkeypatch.setattr("finishing.services.invitations.send_mail", away)
    with django_capture_on_commit_callbacks(execute=True):
        unsent = asker.post(INVITATIONS, NEW).json()
    assert asker.get(f"{INVITATIONS}{unsent['id']}/").json()["mailed_at"] is None
    assert opened(unsent["link"]) == 200


def test_all_faults_of_an_invitation_are_named_at_once(company: Company) -> None:
    asker = program(company)
    person(company)
    theirs = make_crew(make_company("Another firm"), "Theirs")
    for body, at_fault in (
        ({}, ["email", "role"]),
        ({"email": "P@example.com", "role": "crew_lead"}, ["crew", "email"]),
        ({"email": "nobody", "role": "viewer", "crew": str(theirs.public_id)}, ["crew", "email"]),
        ({**NEW, "link": "x", "used_at": None}, ["link", "used_at"]),
    ):
        answer = asker.post(INVITATIONS, body)
        assert (answer.status_code, pointers(answer)) == (422, [f"#/{name}" for name in at_fault])
    assert not Invitation.objects.exists()


def test_a_program_lets_nobody_do_more_than_it_may(company: Company, sign_in: SignIn) -> None:
    """One that may own and plan, and not report, invites no planner, who may; nor does it see the
    link by which a planner comes in whom the owner has invited."""
    asker, viewer = program(company, Right.OWN, Right.PLAN), person(company)
    lead = person(company, Role.CREW_LEAD, "lead")
    for role in (Role.OWNER, Role.PLANNER, Role.CREW_LEAD):
        crew = str(make_crew(company, role).public_id) if role == Role.CREW_LEAD else None
        given = {"role": role, "crew": crew}
        refused = asker.post(INVITATIONS, {"email": "new@example.com", **given})
        assert (refused.status_code, pointers(refused)) == (422, ["#/role"])
        refused = asker.patch(f"{PEOPLE}{viewer.public_id}/", given, "*")
        assert (refused.status_code, pointers(refused)) == (422, ["#/role"])
    assert asker.post(INVITATIONS, {**NEW, "role": "viewer"}).json()["link"]
    assert asker.patch(f"{PEOPLE}{lead.public_id}/", {"role": "viewer"}, "*").status_code == 200
    owner = sign_in(company)
    owner.post("/company/people/", {**NEW, "email": "by.owner@example.com"})
    said = {one["email"]: one["link"] for one in asker.get(INVITATIONS).json()["results"]}
    assert (said["by.owner@example.com"], bool(said["new@example.com"])) == ("", True)
    assert not User.objects.filter(role=Role.PLANNER).exists()


def test_what_a_program_invited_ends_with_its_token(company: Company) -> None:
    owner, every = person(company, Role.OWNER), [*Right]
    _, owners = make_token(company=company, name="Ours", scopes=every, now=MONDAY, person=owner)
    asker, other = Program(owners), program(company)
    link = asker.post(INVITATIONS, {**NEW, "role": "owner"}).json()["link"]
    kept = other.post(INVITATIONS, {**NEW, "email": "kept@example.com"}).json()["link"]
    token = next(
        one for one in other.get("/api/v1/tokens/").json()["results"] if one["name"] == "Ours"
    )
    assert other.post(f"/api/v1/tokens/{token['id']}/revoke/", None).status_code == 200
    assert (opened(link), opened(kept)) == (410, 200)
    assert asker.get(PEOPLE).status_code == 401


def test_what_a_program_invites_is_good_no_longer_than_its_token(company: Company) -> None:
    end = MONDAY + timedelta(days=2)
    told: dict[str, Any] = {"company": company, "scopes": [*Right], "now": MONDAY}
    _, short = make_token(**told, name="Short", expires_at=end)
    invited = Program(short).post(INVITATIONS, NEW).json()
    assert invited["expires_at"] == "2026-03-04T00:00:00Z"
    _, long = make_token(**told, name="Long", expires_at=MONDAY + timedelta(days=30))
    invited = Program(long).post(INVITATIONS, {**NEW, "email": "b@example.com"}).json()
    assert invited["expires_at"] == "2026-03-09T00:00:00Z"


def test_people_are_for_owners_who_plan(company: Company) -> None:
    planner, looks = program(company, Right.PLAN), program(company, Right.OWN)
    somebody = person(company)
    address = f"{PEOPLE}{somebody.public_id}/"
    for where in (PEOPLE, address, INVITATIONS):
        assert (planner.get(where).status_code, looks.get(where).status_code) == (403, 200)
    for asker in (planner, looks):
        assert asker.post(INVITATIONS, {**NEW, "role": "viewer"}).status_code == 403
        assert asker.patch(address, {"role": "viewer"}, "*").status_code == 403
        assert asker.delete(address, "*").status_code == 403
