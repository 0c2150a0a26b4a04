"""Sending what is due: each row by itself, so that none waits on another's fault."""

import logging
from collections.abc import Callable, Mapping
from datetime import datetime
from random import Random

from django.utils import timezone

from scheduling.models import Outgoing
from scheduling.outgoing.calendar import push_calendar
from scheduling.outgoing.claim import claim, due
from scheduling.outgoing.look import look
from scheduling.outgoing.mail import send_mail
from scheduling.outgoing.not_sent import NotSent, Overtaken
from scheduling.outgoing.retries import MOST_ATTEMPTS, pause_after

log = logging.getLogger(__name__)

type Clock = Callable[[], datetime]
State = Outgoing.State


def _send_webhook(row: Outgoing, now: datetime) -> None:
    from scheduling.outgoing.webhook import send_webhook  # noqa: PLC0415 - loads a web client

    send_webhook(row, now)


_SENDERS: Mapping[str, Callable[[Outgoing, datetime], None]] = {
    Outgoing.Kind.MAIL: send_mail,
    Outgoing.Kind.WEBHOOK: _send_webhook,
    Outgoing.Kind.CALENDAR: push_calendar,
    Outgoing.Kind.LOOK: look,
}
"""By kind what sends a row; it raises NotSent or Overtaken."""


def send_due(*, clock: Clock = timezone.now, random: Random | None = None) -> list[Outgoing]:
    """Send all that is due and return the rows that were tried, as they stand then."""
    tried = (send_one(pk, clock=clock, random=random) for pk in due(clock()))
    return [row for row in tried if row is not None]


def send_one(
    pk: int, *, clock: Clock = timezone.now, random: Random | None = None
) -> Outgoing | None:
    """Send one row, if it is due and nobody else has it; return it as it stands then.

    random: where the chance in the pause before another attempt comes from.
    """
    row = claim(pk, clock())
    if row is None:
        return None
    try:
        _SENDERS[row.kind](row, clock())
    except Overtaken:
        _end(row, State.OVERTAKEN, clock())
    except NotSent as fault:
        _put_off(row, fault, clock(), random or Random())  # noqa: S311  # nosec B311
    except Exception as error:
        log.exception("%s could not be sent", row)
        own = NotSent(f"a fault of this program ({type(error).__name__})")
        _put_off(row, own, clock(), random or Random())  # noqa: S311  # nosec B311
    else:
        _end(row, State.SENT, clock())
    return row


def _end(row: Outgoing, state: Outgoing.State, now: datetime, error: str = "") -> None:
    row.state, row.ended_at, row.error = state, now, error
    _store(row)


def _put_off(row: Outgoing, fault: NotSent, now: datetime, random: Random) -> None:
    error = str(fault)[:300]
    if fault.for_good or row.attempts >= MOST_ATTEMPTS:
        _end(row, State.GIVEN_UP, now, error)
        return
    row.due_at = now + max(pause_after(row.attempts, random), fault.pause)
    row.error = error
    _store(row)


def _store(row: Outgoing) -> None:
    """Say how an attempt ended, unless it took so long that the row is another sender's by now."""
    mine = Outgoing.objects.filter(pk=row.pk, version=row.version)
    mine.update(
        state=row.state,
        due_at=row.due_at,
        ended_at=row.ended_at,
        error=row.error,
        claimed_until=None,
        version=row.version + 1,
    )
    row.refresh_from_db()
