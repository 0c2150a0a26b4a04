"""Events to webhooks: sent to a real server, signed so that a library of the standard verifies."""

import json
from datetime import UTC, datetime, timedelta, tzinfo
from random import Random
from typing import Self

import pytest
from pytest_django import Settings
from standardwebhooks import Webhook as Verifier
from standardwebhooks import WebhookVerificationError, webhooks

from finishing.config.hosts import AllowedHosts
from finishing.models import Company, Crew, House
from scheduling.models import Outgoing, Publication, Webhook
from scheduling.outgoing.retries import FIRST, MOST_ATTEMPTS
from scheduling.outgoing.send import send_due
from scheduling.outgoing.webhook import signed
from scheduling.services.webhooks import BOTH_SIGN, add_webhook, renew_secret, send_test
from tests.factories import make_company, make_crew, make_house, task
from tests.scheduling.outgoing.receiver import LOOPBACK, Receiver
from tests.scheduling.test_publish import publish

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
HOUR = timedelta(hours=1)


class ThatMoment(datetime):
    @classmethod
    def now(cls, tz: tzinfo | None = None) -> Self:
        return cls.fromtimestamp(NOW.timestamp(), tz)


@pytest.fixture(autouse=True)
def verifies_at_that_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    """The library that verifies reads the clock, and takes five minutes more or less."""
    monkeypatch.setattr(webhooks, "datetime", ThatMoment)


@pytest.fixture
def company() -> Company:
    return make_company()


def publish_in(company: Company, hours: int, *, now: datetime = NOW) -> None:
    """Publish a visit of the company's crew to its house in so many hours."""
    crew = Crew.objects.filter(company=company).first() or make_crew(company)
    house = House.objects.filter(company=company).first() or make_house(company)
    publish(company, task(crew, house, NOW + hours * HOUR), now=now)


def listen(company: Company, received: Receiver) -> tuple[Webhook, str]:
    return add_webhook(
        company=company, address=received.address, events=["plan.published"], now=NOW
    )


def send(moment: datetime = NOW) -> list[Outgoing]:
    return send_due(clock=lambda: moment, random=Random(1))


def test_a_signature_is_that_of_the_standards_own_library() -> None:
    """standardwebhooks (PyPI) is the reference implementation of the people who wrote it."""
    body, secret = b'{"type":"plan.published"}', "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
    headers = signed(body, message_id="one", secrets=[secret], now=NOW)
    theirs = Verifier(secret).sign("one", NOW, body.decode())
    assert headers["webhook-signature"] == theirs
    assert Verifier(secret).verify(body.decode(), headers) == {"type": "plan.published"}


def test_a_publication_reaches_whoever_listens(company: Company, received: Receiver) -> None:
    webhook, secret = listen(company, received)
    publish_in(company, 30)
    publish_in(company, 33, now=NOW + timedelta(minutes=1))
    send(NOW + timedelta(minutes=1))
    (_, first), (headers, second) = received.requests
    told = Verifier(secret).verify(second.decode(), headers)
    assert told["type"] == "plan.published"
    assert (told["data"]["revision"], told["data"]["takes_back"]) == (2, None)
    (visit,) = told["data"]["visits"]
    assert (visit["change"], visit["crew"]["name"]) == ("moved", "North crew")
    assert datetime.fromisoformat(visit["starts_at"]) == NOW + 33 * HOUR
    assert datetime.fromisoformat(visit["was"]["starts_at"]) == NOW + 30 * HOUR
    assert json.loads(first)["data"]["visits"][0]["change"] == "new"
    assert json.loads(first)["data"]["visits"][0]["uid"] == visit["uid"]
    assert headers["Host"] == f"localhost:{received.port}"
    webhook.refresh_from_db()
    assert webhook.answered_at == NOW + timedelta(minutes=1)
    with pytest.raises(WebhookVerificationError):
        Verifier("whsec_" + "A" * 43 + "=").verify(second.decode(), headers)


def test_an_attempt_after_a_fault_has_the_same_id_and_a_new_time(
    company: Company, received: Receiver
) -> None:
    _, secret = listen(company, received)
    publish_in(company, 30)
    received.answers = [(503, {})]
    (row,) = send()
    assert (row.state, row.error) == ("waiting", "the answer was 503")
    (row,) = send(row.due_at)
    assert row.state == "sent"
    (first, _), (second, body) = received.requests
    assert first["webhook-id"] == second["webhook-id"]
    assert int(second["webhook-timestamp"]) > int(first["webhook-timestamp"])
    assert Verifier(secret).verify(body.decode(), second)


def test_a_test_is_signed_like_any_event_and_says_what_it_is(
    company: Company, received: Receiver
) -> None:
    webhook, secret = listen(company, received)
    row = send_test(webhook=webhook, now=NOW)
    assert send_test(webhook=webhook, now=NOW) == row, "one that waits is enough"
    assert [one.state for one in send()] == ["sent"]
    ((headers, body),) = received.requests
    event = Verifier(secret).verify(body, headers)
    assert (event["type"], event["data"]["test"]) == ("webhook.test", True)
    assert send_test(webhook=webhook, now=NOW + HOUR) != row


@pytest.mark.parametrize("status", [429, 503])
@pytest.mark.parametrize(
    ("asked", "minutes"),
    [
        ("1800", 30),
        ("Sun, 01 Mar 2026 18:45:00 GMT", 45),
        ("9" * 30, 240),
        ("Wed, 01 Apr 2026 18:00:00 GMT", 240),
    ],
)
def test_a_server_is_left_alone_as_long_as_it_asks(
    company: Company, received: Receiver, status: int, asked: str, minutes: int
) -> None:
    """RFC 9110, 10.2.3: seconds or a date; half a day of attempts is not for it to stretch."""
    listen(company, received)
    received.answers = [(status, {"Retry-After": asked})]
    publish_in(company, 72)
    (row,) = send()
    assert (row.state, row.due_at) == ("waiting", NOW + timedelta(minutes=minutes))
    assert send(row.due_at - timedelta(seconds=1)) == []
    assert send(row.due_at)[0].state == "sent"


@pytest.mark.parametrize("asked", ["soon", "-5", "1", "", "Sun, 01 Mar 2026 17:00:00 GMT"])
def test_our_own_pause_is_the_least(company: Company, received: Receiver, asked: str) -> None:
    listen(company, received)
    received.answers = [(503, {"Retry-After": asked} if asked else {})]
    publish_in(company, 72)
    (row,) = send()
    assert FIRST <= row.due_at - NOW <= FIRST * 1.5


def test_both_secrets_sign_for_a_day(company: Company, received: Receiver) -> None:
    webhook, old = listen(company, received)
    new = renew_secret(webhook=webhook, version=webhook.version, now=NOW)
    assert new != old
    publish_in(company, 30)
    send()
    (headers, body), *_ = received.requests
    for secret in (old, new):
        assert Verifier(secret).verify(body.decode(), headers)
    Outgoing.objects.update(state="waiting", due_at=NOW)
    send(NOW + BOTH_SIGN)
    assert " " not in received.requests[-1][0]["webhook-signature"]


def test_secrets_lie_encrypted_and_nowhere_else(company: Company, received: Receiver) -> None:
    webhook, secret = listen(company, received)
    publish_in(company, 30)
    stored = str([Webhook.objects.values().get(), Outgoing.objects.values().get()])
    assert secret not in stored
    assert secret.removeprefix("whsec_") not in stored
    assert webhook.secret not in str(Outgoing.objects.values().get())


def test_with_another_key_it_says_so_and_the_old_key_still_opens(
    company: Company, received: Receiver, settings: Settings
) -> None:
    listen(company, received)
    publish_in(company, 30)
    before, settings.SEAL_KEY = settings.SEAL_KEY, "another key"
    (row,) = send()
    assert (row.state, "key that is not known" in row.error) == ("waiting", True)
    settings.FORMER_SEAL_KEYS = [before]
    (row,) = send(row.due_at)
    assert row.state == "sent"


def test_a_redirect_is_not_followed(company: Company, received: Receiver) -> None:
    listen(company, received)
    publish_in(company, 30)
    received.answers = [(307, {"Location": received.address})]
    (row,) = send()
    assert (row.state, row.error) == ("waiting", "the answer was 307")
    assert len(received.requests) == 1


def test_gone_switches_it_off_at_once(company: Company, received: Receiver) -> None:
    webhook, _ = listen(company, received)
    publish_in(company, 30)
    received.answers = [(410, {})]
    (row,) = send()
    webhook.refresh_from_db()
    assert (row.state, webhook.off_why, webhook.off_at) == ("given_up", "gone", NOW)
    publish_in(company, 33, now=NOW + HOUR)
    assert Outgoing.objects.count() == 1, "nothing more is written for it"


@pytest.mark.parametrize(("reached", "off"), [(False, "failing"), (True, "")])
def test_it_is_switched_off_where_nothing_arrives_and_not_for_one_that_fails(
    company: Company, received: Receiver, reached: bool, off: str
) -> None:
    webhook, _ = listen(company, received)
    publish_in(company, 30)
    Outgoing.objects.update(attempts=MOST_ATTEMPTS - 1)
    Webhook.objects.update(answered_at=NOW + HOUR if reached else NOW - HOUR)
    received.answers = [(500, {})]
    (row,) = send(NOW + 2 * HOUR)
    webhook.refresh_from_db()
    assert (row.state, webhook.off_why) == ("given_up", off)


def test_a_dead_server_leaves_the_publication_as_it_is(
    company: Company, received: Receiver, settings: Settings
) -> None:
    listen(company, received)
    publish_in(company, 30)
    settings.WEBHOOK_HOSTS = AllowedHosts(frozenset({("localhost", 1)}), LOOPBACK)
    Webhook.objects.update(address="https://localhost:1/")
    (row,) = send()
    assert (row.state, "cannot be reached" in row.error) == ("waiting", True)
    assert Publication.objects.count() == 1


def test_a_certificate_of_nobody_we_trust_is_refused(
    company: Company,
    received: Receiver,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    listen(company, received)
    publish_in(company, 30)
    monkeypatch.delenv("SSL_CERT_FILE")
    (row,) = send()
    assert (row.state, received.requests) == ("waiting", [])


@pytest.mark.parametrize(
    "allowed",
    [
        AllowedHosts(frozenset({("localhost", 0)}), LOOPBACK),
        AllowedHosts(frozenset(), LOOPBACK),
    ],
)
def test_a_host_that_is_no_longer_listed_is_sent_nothing(
    company: Company,
    received: Receiver,
    settings: Settings,
    allowed: AllowedHosts,
) -> None:
    webhook, _ = listen(company, received)
    publish_in(company, 30)
    settings.WEBHOOK_HOSTS = allowed
    (row,) = send()
    assert (row.state, received.requests) == ("given_up", [])
    webhook.refresh_from_db()
    assert webhook.off_at is None, "that is the operator's doing, not the other side's"


def test_a_listed_host_that_points_into_a_private_network_is_sent_nothing(
    company: Company, received: Receiver, settings: Settings
) -> None:
    listen(company, received)
    publish_in(company, 30)
    settings.WEBHOOK_HOSTS = AllowedHosts(frozenset({("localhost", received.port)}))
    (row,) = send()
    assert (row.state, received.requests) == ("given_up", [])
    assert row.error == "its host is in a private network that is not listed"
