"""/api/v1/calendar-pushes/: passwords go in and never come out."""

from typing import Any
from uuid import uuid4

import pytest
from pytest_django import Settings

from finishing.config.hosts import AllowedHosts
from finishing.models import SentRequest
from finishing.services.sealed import unseal
from scheduling.models import CalendarPush, Outgoing, PushedEntry
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company

pytestmark = pytest.mark.django_db
FEEDS, DELIVERIES = "/api/v1/feeds/", "/api/v1/deliveries/"
PUSHES = "/api/v1/calendar-pushes/"
NEW_PUSH = {
    "address": "https://dav.example/behind/",
    "username": "office",
    "password": "top secret",
}


@pytest.fixture(autouse=True)
def _hosts(settings: Settings) -> None:
    settings.CALDAV_HOSTS = AllowedHosts(frozenset({("dav.example", 443)}))


def made(asker: Program, address: str, body: Any, **headers: str) -> Any:
    answer = asker.post(address, body, **headers)
    assert answer.status_code == 201, answer.json()
    return answer.json()


def test_a_calendar_on_another_server_is_made_signed_in_anew_switched_and_removed() -> None:
    company = make_company()
    asker = program(company)
    feed = made(asker, FEEDS, {})
    body = {**NEW_PUSH, "feed": feed["id"]}
    push = made(asker, PUSHES, body, idempotency_key="p")
    assert push == asker.post(PUSHES, body, idempotency_key="p").json()
    assert (push["host"], push["username"], push["is_on"]) == ("dav.example", "office", True)
    (waits,) = asker.get(f"{DELIVERIES}?calendar_push={push['id']}").json()["results"]
    assert (waits["state"], waits["event"], waits["webhook"]) == ("waiting", "", None)
    address = f"{PUSHES}{push['id']}/"
    changed = asker.patch(address, {"password": "  another "}, push["etag"])
    assert changed.status_code == 200
    assert unseal(CalendarPush.objects.get().password) == "  another "
    assert len(asker.get(DELIVERIES).json()["results"]) == 2, "it is brought up to date at once"
    assert asker.patch(address, {"is_on": False}, push["etag"]).status_code == 412
    off = asker.patch(address, {"is_on": False, "username": ""}, changed["ETag"]).json()
    assert (off["is_on"], off["off_why"], off["username"]) == (False, "by_hand", "")
    told = f"{push}{changed.json()}{off}{asker.get(PUSHES).json()}{SentRequest.objects.values()}"
    assert not any(secret in told for secret in ("top secret", "another", "/behind/"))
    assert (
        asker.patch(address, {"address": "https://dav.example/2"}, off["etag"]).status_code == 422
    )
    assert asker.delete(address, asker.get(address)["ETag"]).status_code == 204
    assert not CalendarPush.objects.exists()


def test_a_calendar_that_is_removed_has_its_entries_taken_out_first_or_left_if_asked() -> None:
    company = make_company()
    asker = program(company)
    feed = made(asker, FEEDS, {})
    address = f"{PUSHES}{made(asker, PUSHES, {**NEW_PUSH, 'feed': feed['id']})['id']}/"
    push = CalendarPush.objects.get()
    Outgoing.objects.all().delete()
    for _ in range(2):
        PushedEntry.objects.create(company=company, push=push, uid=uuid4(), sha256="0" * 64)
    there = asker.get(address)
    assert (there.json()["entries"], there.json()["ending_at"]) == (2, None)
    accepted = asker.delete(address, there["ETag"])
    assert (accepted.status_code, accepted["Location"][-len(address) :]) == (202, address)
    assert (accepted.json()["entries"], accepted.json()["ending_at"] is None) == (2, False)
    assert Outgoing.objects.get().calendar == push
    assert asker.delete(address, there["ETag"]).status_code == 412
    CalendarPush.objects.update(off_at=push.made_at, off_why="failing")
    again = asker.delete(address, asker.get(address)["ETag"])
    assert (again.status_code, again.json()["is_on"]) == (202, True), "tried again"
    assert Outgoing.objects.count() == 2
    PushedEntry.objects.order_by("pk")[:1].get().delete()
    again = asker.delete(address, again["ETag"])
    assert (again.status_code, again.json()["entries"]) == (202, 1), "nobody edited that"
    wrong = asker.delete(f"{address}?leave_entries=2", again["ETag"])
    assert (wrong.status_code, CalendarPush.objects.count()) == (422, 1)
    left = asker.delete(f"{address}?leave_entries=yes", again["ETag"])
    assert (left.status_code, CalendarPush.objects.count()) == (204, 0)


def test_all_faults_of_a_calendar_on_another_server_are_named_at_once() -> None:
    asker = program(make_company())
    feed = made(asker, FEEDS, {})
    body = {**NEW_PUSH, "feed": feed["id"]}
    made(asker, PUSHES, body)
    assert asker.post(f"{FEEDS}{feed['id']}/revoke/", {"generation": 1}).status_code == 200
    long = "x" * 201
    for said, at_fault in (
        ({}, ["address", "feed"]),
        (body, ["address", "feed"]),
        ({"feed": "x", "address": "http://dav.example/"}, ["address", "feed"]),
        (
            {**body, "password": long, "username": long, "is_on": False},
            ["address", "feed", "is_on", "password", "username"],
        ),
    ):
        answer = asker.post(PUSHES, said)
        assert answer.status_code == 422
        assert sorted(set(pointers(answer))) == [f"#/{name}" for name in at_fault]
    assert CalendarPush.objects.count() == 1
