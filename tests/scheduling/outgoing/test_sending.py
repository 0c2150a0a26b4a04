"""Each row is sent by one sender, tried again, given up; none holds up another."""

import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random

import pytest
from django.db import OperationalError, connections

from finishing.models import Company
from finishing.services.rows import StaleRowsError
from scheduling.models import Outgoing
from scheduling.outgoing import send
from scheduling.outgoing.claim import LEASE, claim, due, next_due
from scheduling.outgoing.not_sent import NotSent, Overtaken
from scheduling.outgoing.retries import FIRST, LONGEST, MOST_ATTEMPTS, pause_after
from scheduling.services.outbox import put_out, send_again
from tests.factories import make_company
from tests.scheduling.outgoing.waiting import NOW, make_waiting

pytestmark = pytest.mark.django_db

SECOND = timedelta(seconds=1)


@pytest.fixture
def company() -> Company:
    return make_company()


def sending(monkeypatch: pytest.MonkeyPatch, how: Callable[[Outgoing], None]) -> list[str]:
    """Have rows sent this way; return the keys of those that are, as they are."""
    sent: list[str] = []

    def send_row(row: Outgoing, _: datetime) -> None:
        sent.append(row.key)
        how(row)

    monkeypatch.setattr(send, "_SENDERS", {"mail": send_row})
    return sent


def at(moment: datetime) -> Callable[[], datetime]:
    return lambda: moment


def failing(why: str, *, for_good: bool = False) -> Callable[[Outgoing], None]:
    def fail(_: Outgoing) -> None:
        raise NotSent(why, for_good=for_good)

    return fail


def test_the_same_key_is_written_once_in_a_company(company: Company) -> None:
    def row(of: Company) -> Outgoing:
        return Outgoing(
            company=of, kind="mail", key="same", recipient="a", created_at=NOW, due_at=NOW
        )

    put_out([row(company)])
    put_out([row(company), row(make_company("Other Finishing"))])
    assert Outgoing.objects.filter(company=company).count() == 1
    assert Outgoing.objects.count() == 2


def test_what_is_sent_is_not_sent_again(company: Company, monkeypatch: pytest.MonkeyPatch) -> None:
    make_waiting(company)
    sent = sending(monkeypatch, lambda _: None)
    (row,) = send.send_due(clock=at(NOW))
    assert (row.state, row.attempts, row.ended_at) == ("sent", 1, NOW)
    assert send.send_due(clock=at(NOW + LEASE * 2)) == []
    assert sent == ["one"]


def test_one_row_is_claimed_by_one_sender_until_its_lease_is_over(company: Company) -> None:
    row = make_waiting(company)
    assert claim(row.pk, NOW) is not None
    assert claim(row.pk, NOW + LEASE - SECOND) is None
    assert due(NOW + LEASE - SECOND) == []
    assert next_due(NOW) == NOW + LEASE
    taken_over = claim(row.pk, NOW + LEASE)
    assert taken_over is not None
    assert taken_over.attempts == 2


def test_a_sender_that_comes_back_late_does_not_overwrite_the_next(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It slept longer than its lease, and another has sent the row meanwhile."""
    row = make_waiting(company)

    def sleep_in(_: Outgoing) -> None:
        monkeypatch.setattr(send, "_SENDERS", {"mail": lambda *_: None})
        send.send_one(row.pk, clock=at(NOW + LEASE))
        raise NotSent("too late")

    sending(monkeypatch, sleep_in)
    found = send.send_one(row.pk, clock=at(NOW))
    assert found is not None
    assert (found.state, found.error, found.attempts) == ("sent", "", 2)


def test_a_fault_is_kept_and_the_next_row_does_not_suffer(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_waiting(company, "bad")
    make_waiting(company, "good")

    def first_fails(row: Outgoing) -> None:
        if row.key == "bad":
            raise ZeroDivisionError("sesame")

    sending(monkeypatch, first_fails)
    bad, good = send.send_due(clock=at(NOW), random=Random(1))
    assert (good.state, bad.state) == ("sent", "waiting")
    assert "ZeroDivisionError" in bad.error
    assert "sesame" not in bad.error, "what an exception says may hold a secret"
    assert NOW + FIRST <= bad.due_at <= NOW + FIRST * 1.5


def test_attempts_grow_apart_and_end(company: Company, monkeypatch: pytest.MonkeyPatch) -> None:
    row = make_waiting(company)
    sent = sending(monkeypatch, failing("nobody at home"))
    moment, pauses = NOW, []
    while row.state == "waiting":
        send.send_one(row.pk, clock=at(moment), random=Random(7))
        row.refresh_from_db()
        pauses.append(row.due_at - moment)
        moment = row.due_at
    assert (len(sent), row.state, row.error) == (MOST_ATTEMPTS, "given_up", "nobody at home")
    assert pauses[:-1] == sorted(pauses[:-1])
    assert pauses[1] / pauses[0] == 2, "the same chance each time, so it doubles"
    assert row.ended_at == moment
    assert timedelta(hours=8) < moment - NOW < timedelta(hours=24)


def test_chance_is_at_most_half_as_long_again() -> None:
    pauses = [pause_after(3, Random(seed)) for seed in range(200)]
    assert min(pauses) >= 4 * FIRST
    assert max(pauses) < 6 * FIRST
    assert len(set(pauses)) == 200
    assert pause_after(60, Random(1)) < LONGEST * 1.5


def test_what_cannot_work_is_given_up_at_once(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_waiting(company)
    sending(monkeypatch, failing("no such address", for_good=True))
    (row,) = send.send_due(clock=at(NOW))
    assert (row.state, row.attempts) == ("given_up", 1)


def test_what_is_not_needed_any_more_says_so(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_waiting(company)

    def overtaken(_: Outgoing) -> None:
        raise Overtaken

    sending(monkeypatch, overtaken)
    (row,) = send.send_due(clock=at(NOW))
    assert row.state == "overtaken"


def test_a_row_that_ends_its_sender_each_time_is_given_up(company: Company) -> None:
    row = make_waiting(company)
    moment = NOW
    for _ in range(MOST_ATTEMPTS):
        assert claim(row.pk, moment) is not None
        moment += LEASE
    assert claim(row.pk, moment) is None
    row.refresh_from_db()
    assert row.state == "given_up"
    assert due(moment) == []


def test_sent_again_from_the_first_attempt_and_once(company: Company) -> None:
    row = make_waiting(company, state="given_up", attempts=9, error="x", ended_at=NOW)
    send_again(row=row, version=row.version, now=NOW + SECOND)
    with pytest.raises(StaleRowsError):
        send_again(row=row, version=row.version, now=NOW + SECOND)
    row.refresh_from_db()
    assert (row.state, row.attempts, row.error, row.due_at) == ("waiting", 0, "", NOW + SECOND)
    with pytest.raises(StaleRowsError):
        send_again(row=row, version=row.version, now=NOW)


@pytest.mark.django_db(transaction=True)
def test_two_senders_at_once_send_it_once(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_waiting(company)
    meet = threading.Barrier(2, timeout=60)
    sent = sending(monkeypatch, lambda _: None)

    def looked() -> bool:
        try:
            send.send_due(clock=at(NOW))
        except OperationalError as error:
            if "table is locked" in str(error):  # in memory nobody waits for one, as in a file
                return False
            raise
        return True

    def sender() -> None:
        meet.wait()
        try:
            while not looked():
                pass
        finally:
            connections["default"].connection.close()  # Django keeps those of databases in memory

    threads = [threading.Thread(target=sender) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sent == ["one"]
