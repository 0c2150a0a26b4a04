"""The clock of the server is set back by an hour: nobody is kept out or made to wait for that hour,
nothing is done twice, and calendars believe what changes then."""

from datetime import datetime, timedelta
from random import Random
from typing import Any

import icalendar
import pytest

from finishing.models import ApiToken, Company, SentRequest
from finishing.queries.rights import Right
from finishing.services.sent_requests import (
    LEASE,
    InProgressError,
    claim_request,
    finish_request,
)
from finishing.services.sign_in_limits import LOCKED_FOR, MOST_TRIES, may_try
from finishing.services.tokens import find_token, make_token
from scheduling.models import FeedLink, Outgoing
from scheduling.outgoing import claim, send
from scheduling.outgoing.not_sent import NotSent
from scheduling.services.feeds import refresh_feed
from scheduling.services.fetches import FETCHES, Fetch
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.scheduling.outgoing.waiting import NOW, make_waiting

pytestmark = pytest.mark.django_db

HOUR, MINUTE, SECOND = timedelta(hours=1), timedelta(minutes=1), timedelta(seconds=1)
BACK = NOW - HOUR
"""What the clock says at the moment at which it said NOW before."""


@pytest.fixture
def company() -> Company:
    return make_company()


def stamps(link: FeedLink) -> dict[str, tuple[datetime, int]]:
    """Return by visit the DTSTAMP and SEQUENCE that calendars hold changes against (RFC 5546,
    2.1.5)."""
    events: list[Any] = icalendar.Calendar.from_ical(bytes(link.body)).walk("VEVENT")
    return {str(e["UID"]): (e["DTSTAMP"].dt, int(e["SEQUENCE"])) for e in events}


def test_stamps_of_calendars_rise_all_the_same(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    seen, modified = [], []
    for now, hour in ((NOW, 8), (BACK, 9), (BACK + SECOND, 10)):
        make_plan(company, [task(crew, house, f"2026-03-02 {hour:02}:00")])
        publish_plan(company=company, now=now)
        link = refresh_feed(link=FeedLink.objects.get(), now=now)
        seen.append(stamps(link))
        assert link.modified_at
        modified.append(link.modified_at)
    (uid,) = seen[0]
    told = [of[uid] for of in seen]
    assert told == sorted(set(told)), "each later than the one before"
    assert len({stamp for stamp, _ in told}) == len({number for _, number in told}) == 3
    assert modified == sorted(set(modified)), "Last-Modified too"


def test_who_is_kept_out_is_so_for_no_longer() -> None:
    def tries(now: datetime) -> bool:
        return may_try(account="a@b.example", address="192.0.2.1", now=now)

    assert all(tries(NOW) for _ in range(MOST_TRIES))
    assert not tries(BACK), "it is no way in either"
    assert not tries(BACK + LOCKED_FOR - SECOND)
    assert tries(BACK + LOCKED_FOR)


def test_tokens_go_on_and_end_as_they_did(company: Company) -> None:
    _, lasting = make_token(company=company, name="Gateway", scopes=[Right.READ], now=NOW)
    _, ending = make_token(
        company=company, name="Visitor", scopes=[Right.READ], now=NOW, expires_at=NOW + MINUTE
    )
    assert find_token(lasting, now=NOW)
    assert find_token(lasting, now=BACK), "made in an hour, and good"
    assert ApiToken.objects.get(name="Gateway").used_at == BACK, "its use is noted"
    assert find_token(ending, now=BACK)
    assert find_token(ending, now=NOW + MINUTE) is None


def test_a_request_under_a_key_is_carried_out_once_and_kept_no_longer_from_it(
    company: Company,
) -> None:
    def claimed(key: str, now: datetime) -> SentRequest:
        return claim_request(
            company=company, sender="token 1", key=key, request_sha256="a", now=now
        )

    done, dead = claimed("done", NOW), claimed("dead", NOW)
    finish_request(request=done, status=201, headers={}, body="{}")
    assert claimed("done", BACK).status == 201, "answered again, not done again"
    taken = claimed("dead", BACK)
    assert taken.claim != dead.claim
    with pytest.raises(InProgressError):  # should the first be alive after all, it is undone
        finish_request(request=dead, status=201, headers={}, body="{}")
    with pytest.raises(InProgressError):
        claimed("dead", BACK + LEASE)
    assert claimed("dead", BACK + LEASE + SECOND)


def test_what_waits_to_be_sent_waits_no_longer(
    company: Company, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, dead, failed = (make_waiting(company, key) for key in ("first", "dead", "failed"))
    assert claim.claim(dead.pk, NOW)

    def fail(_row: Outgoing, _now: datetime) -> None:
        raise NotSent("nobody answers")

    monkeypatch.setattr(send, "_SENDERS", {"mail": fail})
    send.send_one(failed.pk, clock=lambda: NOW, random=Random(1))
    assert claim.due(BACK) == [first.pk], "another may be sending, and a pause is a pause"
    assert claim.claim(dead.pk, BACK) is None, "it is not sent twice at once"
    later = BACK + claim.LEASE
    assert set(claim.due(later)) == {first.pk, dead.pk}, "its sender is gone"
    failed.refresh_from_db()
    assert failed.pk in claim.due(failed.due_at), "late, by the hour, and not lost"
    assert failed.due_at < NOW + 2 * MINUTE


def test_that_a_calendar_is_fetched_is_noted(company: Company) -> None:
    crew, house = make_crew(company), make_house(company)
    make_plan(company, [task(crew, house, "2026-03-02 08:00")])
    publish_plan(company=company, now=NOW)
    link = FeedLink.objects.get()
    for now in (NOW, BACK):
        FETCHES.note(link.pk, Fetch(now, "a phone", 1))
        FETCHES.write()
        link.refresh_from_db()
        assert link.fetched_at == now
