"""Programs of the API at the same moment: on PostgreSQL a write of one key is carried out once and
nobody overwrites what they have not seen; with Redis all processes count the same requests."""

from collections import Counter
from threading import Barrier
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.cache import cache
from pytest_django import Settings

from api.rest import throttling
from finishing.models import House, SentRequest
from tests.api.rest.api_clients import Program, program
from tests.factories import make_company, make_house
from tests.production.at_once import People
from tests.production.stack import Stack

pytestmark = pytest.mark.services
HOUSES = "/api/v1/houses/"
NEW = {"name": "New house", "zone": "UTC", "handover_on": "2026-04-01"}
ROUNDS = 20
PER_MINUTE = 25
SENDERS = 8


def both(*asked: Any) -> list[Any]:
    """Return the answers to requests that are sent at one moment, each over its own connection."""
    start = Barrier(len(asked))

    def ask(one: Any) -> Any:
        start.wait(60)
        return one()

    with People(len(asked)) as people:
        answers = [people.begin(lambda one=one: ask(one)) for one in asked]  # type: ignore[misc]
    return [answer.result() for answer in answers]


def test_a_key_sent_twice_at_once_makes_one_house(stack: Stack) -> None:
    secret = program(make_company()).secret
    for number in range(ROUNDS):
        body = {**NEW, "name": f"House {number}"}

        def send(body: Any = body, key: str = f"k{number}") -> int:
            return Program(secret).post(HOUSES, body, idempotency_key=key).status_code

        statuses = both(send, send)
        assert 201 in statuses
        assert {*statuses} <= {201, 409}, "409: the first is still at it, ask again"
        assert send() == 201
        assert House.objects.count() == SentRequest.objects.count() == number + 1


def test_of_two_changes_of_what_both_have_seen_one_is_refused(stack: Stack) -> None:
    company = make_company()
    asker = program(company)
    address = f"{HOUSES}{make_house(company).public_id}/"
    for number in range(ROUNDS):
        seen = asker.get(address)["ETag"]

        def change(name: str, etag: str = seen) -> Any:
            return Program(asker.secret).patch(address, {"name": name}, etag)

        mine, theirs = f"Mine {number}", f"Theirs {number}"
        answers = both(lambda: change(mine), lambda: change(theirs))  # noqa: B023
        assert sorted(answer.status_code for answer in answers) == [200, 412]
        (kept,) = [answer.json()["name"] for answer in answers if answer.status_code == 200]
        (refused,) = [answer.json() for answer in answers if answer.status_code == 412]
        assert House.objects.get().name == kept
        assert refused["changes"][0]["now"] == kept


def test_redis_counts_requests_of_all_at_once(
    stack: Stack, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As many are let through as may be, to the last one, however they fall together."""
    backend = "django.core.cache.backends.redis.RedisCache"
    settings.CACHES = {"default": {"BACKEND": backend, "LOCATION": stack.redis.address}}
    settings.API_PER_MINUTE = PER_MINUTE
    monkeypatch.setattr(throttling, "time", SimpleNamespace(time=lambda: 6_000.5))  # one minute
    cache.clear()
    asker = program(make_company())

    def send() -> list[int]:
        return [Program(asker.secret).get(HOUSES).status_code for _ in range(SENDERS)]

    statuses = Counter(status for sent in both(*[send] * SENDERS) for status in sent)
    assert statuses == {200: PER_MINUTE, 429: SENDERS * SENDERS - PER_MINUTE}
