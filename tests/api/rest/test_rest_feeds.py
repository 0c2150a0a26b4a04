"""/api/v1/feeds/, webhooks/ and deliveries/: secret addresses, shown to who may and never kept."""

from typing import Any

import pytest
from django.test import Client
from pytest_django import Settings

from finishing.config.hosts import AllowedHosts
from finishing.models import Company, CrewMember, SentRequest
from finishing.queries.rights import Right
from scheduling.models import FeedLink, Outgoing, Webhook
from scheduling.services.fetches import FETCHES
from scheduling.services.links import make_link
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company, make_crew, make_house
from tests.scheduling.outgoing.waiting import make_waiting
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
FEEDS, WEBHOOKS, DELIVERIES = "/api/v1/feeds/", "/api/v1/webhooks/", "/api/v1/deliveries/"
NEW_HOOK = {"address": "https://hooks.example/us/abc", "events": ["plan.published"]}


@pytest.fixture(autouse=True)
def _hosts(settings: Settings) -> None:
    settings.WEBHOOK_HOSTS = AllowedHosts(frozenset({("hooks.example", 443)}))


def fetched(address: str) -> int:
    return Client().get(address.removeprefix("http://127.0.0.1:8000")).status_code


def made(asker: Program, address: str, body: Any, **headers: str) -> Any:
    answer = asker.post(address, body, **headers)
    assert answer.status_code == 201, answer.json()
    return answer.json()


def test_a_feed_is_made_followed_changed_renewed_and_revoked() -> None:
    company = make_company()
    crew = make_crew(company)
    asker = program(company)
    feed = made(asker, FEEDS, {"crew": str(crew.public_id), "for_whom": "Ana", "weeks": 2})
    assert (feed["kind"], feed["weeks"], feed["fetched_at"]) == ("crew", 2, None)
    assert fetched(feed["address"]) == 200
    FETCHES.write()
    address = f"{FEEDS}{feed['id']}/"
    seen = asker.get(address).json()
    assert (seen["fetched_at"], seen["address"]) == ("2026-03-02T00:00:00Z", feed["address"])
    changed = asker.patch(address, {"has_alarms": True, "weeks": None}, seen["etag"])
    assert (changed.json()["has_alarms"], changed.json()["weeks"]) == (True, None)
    assert asker.patch(address, {"weeks": 3}, seen["etag"]).status_code == 412
    renewed = asker.post(f"{address}renew/", {"generation": 1})
    assert (renewed.status_code, renewed.json()["generation"]) == (200, 2)
    assert (fetched(feed["address"]), fetched(renewed.json()["address"])) == (410, 200)
    for change in ("renew", "revoke"):
        again = asker.post(f"{address}{change}/", {"generation": 1})
        assert (again.status_code, again.json()["reason"]) == (409, "renewed")
    revoked = asker.post(f"{address}revoke/", {"generation": 2}).json()
    assert revoked["revoked_at"] == "2026-03-02T00:00:00Z"
    assert fetched(renewed.json()["address"]) == 410
    assert asker.get(f"{FEEDS}?works=true").json()["results"] == []


def test_all_faults_of_a_new_feed_are_named_at_once() -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    make_link(crew=crew)
    theirs = make_house(make_company("Another firm"))
    asker, own = program(company), str(crew.public_id)
    for body, at_fault in (
        ({"crew": own, "house": str(house.public_id), "names_crews": 1}, ["house", "names_crews"]),
        ({"house": str(theirs.public_id), "weeks": 0, "colour": ""}, ["colour", "house", "weeks"]),
        ({"person": "Nobody"}, ["person"]),
        ({"language": "", "names_crews": True}, ["language", "names_crews"]),
        ({"crew": own}, ["for_whom"]),
    ):
        answer = asker.post(FEEDS, body)
        assert (answer.status_code, pointers(answer)) == (422, [f"#/{name}" for name in at_fault])
    assert FeedLink.objects.count() == 1


def test_a_feed_is_of_a_person_or_of_the_whole_company() -> None:
    company = make_company()
    make_crew(company)
    asker, member = program(company), CrewMember.objects.all()[0]
    kinds = [made(asker, FEEDS, body)["kind"] for body in ({"person": member.name}, {})]
    assert kinds == ["person", "company"]
    (feed,) = asker.get(f"{FEEDS}?kind=person").json()["results"]
    stays = asker.patch(f"{FEEDS}{feed['id']}/", {"person": ""}, feed["etag"])
    assert (stays.status_code, pointers(stays)) == (422, ["#/person"])


def test_secrets_are_for_who_may_and_no_key_keeps_them() -> None:
    company = make_company()
    planner = program(company, Right.READ, Right.REPORT, Right.PLAN)
    asker = program(company)
    feed = made(asker, FEEDS, {}, idempotency_key="f")
    again = asker.post(FEEDS, {}, idempotency_key="f").json()
    assert again == {**feed, "address": ""}
    hook = made(asker, WEBHOOKS, NEW_HOOK, idempotency_key="w")
    assert asker.post(WEBHOOKS, NEW_HOOK, idempotency_key="w").json() == {**hook, "secret": ""}
    kept = str(list(SentRequest.objects.values()))
    assert feed["address"].split("/")[-2] not in kept
    assert hook["secret"] not in kept
    reader = program(company, Right.READ)
    for address in (FEEDS, WEBHOOKS, DELIVERIES):
        assert reader.get(address).status_code == 403
        assert planner.get(address).status_code == 200
    for refused in (
        planner.post(f"{FEEDS}{feed['id']}/renew/", {"generation": 1}),
        planner.post(f"{FEEDS}{feed['id']}/revoke/", {"generation": 1}),
        planner.post(WEBHOOKS, NEW_HOOK),
        planner.post(f"{WEBHOOKS}{hook['id']}/renew-secret/", None),
        planner.delete(f"{WEBHOOKS}{hook['id']}/", hook["etag"]),
    ):
        assert refused.status_code == 403


def test_a_webhook_is_made_switched_given_another_secret_and_removed() -> None:
    asker = program(make_company())
    hook = made(asker, WEBHOOKS, NEW_HOOK)
    assert hook["secret"].startswith("whsec_")
    assert (hook["host"], hook["is_on"], hook["off_why"]) == ("hooks.example", True, "")
    address = f"{WEBHOOKS}{hook['id']}/"
    said = asker.get(address).json()
    assert said["secret"] == ""
    assert "abc" not in str(said), "what is behind the host may be a secret"
    off = asker.patch(address, {"is_on": False}, said["etag"]).json()
    assert (off["is_on"], off["off_why"]) == (False, "by_hand")
    renewed = asker.post(f"{address}renew-secret/", None).json()
    assert renewed["secret"] not in ("", hook["secret"])
    assert asker.delete(address, said["etag"]).status_code == 412
    assert asker.delete(address, asker.get(address)["ETag"]).status_code == 204
    assert not Webhook.objects.exists()


def test_a_webhook_is_tried_by_a_delivery_that_says_it_is_a_test() -> None:
    asker = program(make_company())
    hook = made(asker, WEBHOOKS, NEW_HOOK)
    address = f"{WEBHOOKS}{hook['id']}/"
    answers = [asker.post(f"{address}test/", None) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [202, 202]
    said, again = (answer.json() for answer in answers)
    assert (said["event"], said["state"], said["webhook"]) == (
        "webhook.test",
        "waiting",
        hook["id"],
    )
    assert again["id"] == said["id"], "one that waits is enough"
    assert asker.get(DELIVERIES).json()["results"] == [said]
    asker.patch(address, {"is_on": False}, asker.get(address)["ETag"])
    refused = asker.post(f"{address}test/", None)
    assert (refused.status_code, refused.json()["reason"]) == (409, "off")


def test_all_faults_of_a_new_webhook_are_named_at_once() -> None:
    asker = program(make_company())
    made(asker, WEBHOOKS, NEW_HOOK)
    for body, at_fault in (
        ({}, ["address", "events"]),
        (NEW_HOOK, ["address"]),
        ({**NEW_HOOK, "address": "https://elsewhere.example/"}, ["address"]),
        ({"address": "", "events": ["plan.made"], "is_on": 1}, ["address", "events/0", "is_on"]),
        ({**NEW_HOOK, "address": "x", "events": [], "off_at": 1}, ["events", "off_at"]),
    ):
        answer = asker.post(WEBHOOKS, body)
        assert (answer.status_code, pointers(answer)) == (422, [f"#/{name}" for name in at_fault])
    assert Webhook.objects.count() == 1


def delivered(company: Company, asker: Program) -> Outgoing:
    hook = Webhook.objects.get(public_id=made(asker, WEBHOOKS, NEW_HOOK)["id"])
    make_waiting(company, "mail")
    payload = {"type": "plan.published"}
    told: dict[str, Any] = {"state": "given_up", "error": "answered 500", "ended_at": MONDAY}
    return make_waiting(company, "hook", kind="webhook", payload=payload, webhook=hook, **told)


def test_what_was_given_up_is_sent_again_once() -> None:
    company = make_company()
    asker = program(company)
    row = delivered(company, asker)
    (said,) = asker.get(f"{DELIVERIES}?state=given_up").json()["results"]
    assert (said["id"], said["event"], said["error"]) == (
        str(row.public_id),
        "plan.published",
        "answered 500",
    )
    address = f"{DELIVERIES}{row.public_id}/again/"
    assert asker.post(address, None).json()["state"] == "waiting"
    again = asker.post(address, None)
    assert (again.status_code, again.json()["reason"]) == (409, "waiting")
    mail = Outgoing.objects.get(kind="mail")
    assert asker.get(f"{DELIVERIES}{mail.public_id}/").status_code == 404
