"""Bringing a collection on a calendar server (RFC 4791) up to date with what a feed shows.

Each entry has a resource of its own, named by its UID. Those whose bytes are there already are not
sent again, those that the feed no longer has are deleted, and nothing else is touched: what may be
changed is what ``PushedEntry`` says that we have put there.
"""

import hashlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from django.conf import settings
from django.utils import timezone, translation

from finishing.services.sealed import SealedError, unseal
from scheduling.ics import entry_bytes
from scheduling.models import CalendarPush, Outgoing, PushedEntry
from scheduling.outgoing.endpoint import judge_failure
from scheduling.outgoing.not_sent import NotSent, Overtaken
from scheduling.outgoing.reach import Reached, reach
from scheduling.outgoing.retries import asked_pause
from scheduling.services.endpoints import note_answer
from scheduling.services.feed_entries import feed_entries
from scheduling.services.pushes import end_push
from scheduling.timezones import pinned_zone

if TYPE_CHECKING:
    from caldav.davclient import DAVClient
    from urllib3.contrib.resolver.in_memory import InMemoryResolver

TIMEOUT_S = 15
LONGEST = timedelta(minutes=4)
"""Of one attempt: what is left goes with the next, before another sender may take the row."""
GONE = frozenset({404, 410})


def push_calendar(row: Outgoing, now: datetime) -> None:
    """Bring a row's collection up to date."""
    push = row.calendar
    assert push is not None
    ending = push.ending_at is not None
    if push.off_at is not None or (push.link.revoked_at is not None and not ending):
        raise NotSent("it is switched off, or its feed is revoked", for_good=True)
    later = Outgoing.objects.filter(calendar=push, state=Outgoing.State.WAITING, pk__gt=row.pk)
    if later.exists():
        raise Overtaken
    try:
        _bring_up_to_date(push, {} if ending else _wanted(push, now), now)
    except NotSent:
        judge_failure(push, row, now)
        raise
    if ending:
        end_push(push=push, row=row)
    else:
        note_answer(endpoint=push, now=now)


def _bring_up_to_date(push: CalendarPush, wanted: Mapping[UUID, bytes], now: datetime) -> None:
    there = {entry.uid: entry for entry in push.entries.all()}
    until = timezone.now() + LONGEST
    with _client(push, now) as client:
        for uid, content in wanted.items():
            _in_time(until)
            _put(client, push, there.get(uid), uid, content)
        for uid in there.keys() - wanted.keys():
            _in_time(until)
            _delete(client, push, there[uid])


def _wanted(push: CalendarPush, now: datetime) -> Mapping[UUID, bytes]:
    link = push.link
    today = now.astimezone(pinned_zone(link.zone)).date()
    with translation.override(link.spoken):
        return {e.uid: entry_bytes(e, link.zone) for e in feed_entries(link, today)}


def _in_time(until: datetime) -> None:
    if timezone.now() > until:
        raise NotSent("the server is so slow that not all of it was sent yet")


def _put(
    client: "DAVClient", push: CalendarPush, before: PushedEntry | None, uid: UUID, content: bytes
) -> None:
    digest = hashlib.sha256(content).hexdigest()
    if before is not None and before.sha256 == digest:
        return
    headers = {"Content-Type": "text/calendar; charset=utf-8"}
    answer = client.put(_resource(push, uid), content.decode(), headers)
    if not 200 <= answer.status < 300:
        raise NotSent(f"the server answered {answer.status} to an entry")
    PushedEntry.objects.update_or_create(
        push=push, uid=uid, defaults={"company_id": push.company_id, "sha256": digest}
    )


def _delete(client: "DAVClient", push: CalendarPush, entry: PushedEntry) -> None:
    answer = client.delete(_resource(push, entry.uid))
    if not (200 <= answer.status < 300 or answer.status in GONE):
        raise NotSent(f"the server answered {answer.status} to deleting an entry")
    entry.delete()


def _resource(push: CalendarPush, uid: UUID) -> str:
    return f"{push.address.rstrip('/')}/{uid}.ics"


@contextmanager
def _client(push: CalendarPush, now: datetime) -> Iterator["DAVClient"]:
    """Give a client for the collection's server; what goes wrong with it is said without secrets,
    and for how long that server asks to be left alone.

    It connects to the address that was checked, whatever the host's name leads to a moment later.
    No redirect is followed, nothing of the environment is used.
    """
    # Half a second to load, and few companies push calendars.
    from caldav.davclient import DAVClient  # noqa: PLC0415
    from caldav.lib.error import AuthorizationError, DAVError, RateLimitError  # noqa: PLC0415
    from niquests import Session  # noqa: PLC0415
    from niquests.exceptions import RequestException  # noqa: PLC0415

    reached = reach(push.address, settings.CALDAV_HOSTS)
    client = DAVClient(
        url=push.address,
        username=push.username or None,
        password=_password(push),
        timeout=TIMEOUT_S,
        ssl_verify_cert=settings.CALDAV_CA_FILE or True,
        enable_rfc6764=False,
        rate_limit_handle=False,
    )
    client.session.close()
    client.session = Session(resolver=_only(reached))
    client.session.max_redirects = 0
    client.session.trust_env = False
    try:
        with client:
            yield client
    except AuthorizationError:
        raise NotSent("the server does not let us in: is the password right?") from None
    except RateLimitError as asked:
        pause = asked_pause(asked.retry_after or "", now)
        raise NotSent(f"the server answered {asked.status}", pause=pause) from None
    # Where a server asks for more seconds than there are, the library overflows.
    except (DAVError, RequestException, OverflowError) as fault:
        raise NotSent(f"the server cannot be reached ({type(fault).__name__})") from None


def _only(reached: Reached) -> "InMemoryResolver":
    """Return what knows one host, at the address that was checked."""
    from urllib3.contrib.resolver.in_memory import InMemoryResolver  # noqa: PLC0415

    known = InMemoryResolver()
    known.register(reached.name, reached.number)
    return known


def _password(push: CalendarPush) -> str | None:
    try:
        return unseal(push.password) if push.password else None
    except SealedError as fault:
        raise NotSent(f"its password was {fault}: type it again") from None
