"""Whose turn it is to send a row: one sender at a time, and another one if that one is gone."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db.models import F, Q, QuerySet

from scheduling.models import Outgoing
from scheduling.outgoing.retries import MOST_ATTEMPTS

LEASE = timedelta(minutes=5)
"""Longer than any attempt takes (see the time limits of each kind)."""

State = Outgoing.State


def due(now: datetime) -> Sequence[int]:
    """Return what nobody is sending and has to be tried by now (primary keys), oldest first."""
    _follow_a_clock_set_back(now)
    return list(_free(now).order_by("due_at", "pk").values_list("pk", flat=True))


def next_due(now: datetime) -> datetime | None:
    """Return when something is due next, or its sender's time over; None where nothing waits."""
    waiting = Outgoing.objects.filter(state=State.WAITING)
    moments = [
        max(due_at, until or due_at)
        for due_at, until in waiting.values_list("due_at", "claimed_until")
    ]
    return max(min(moments), now) if moments else None


def claim(pk: int, now: datetime) -> Outgoing | None:
    """Return the row if it is ours to send now; None where somebody else has it or had it.

    A row whose senders were all ended before they could say how it went is given up.
    """
    taken = _free(now).filter(pk=pk, attempts__lt=MOST_ATTEMPTS)
    if taken.update(
        claimed_until=now + LEASE, attempts=F("attempts") + 1, version=F("version") + 1
    ):
        rows = Outgoing.objects.select_related("company", "publication", "crew__company", "webhook")
        return rows.get(pk=pk)
    _free(now).filter(pk=pk, attempts__gte=MOST_ATTEMPTS).update(
        state=State.GIVEN_UP,
        ended_at=now,
        error="whoever was to send it was ended each time",
        version=F("version") + 1,
    )
    return None


def _follow_a_clock_set_back(now: datetime) -> None:
    """No claim is for longer than a lease, and a first attempt is due when its row is written: what
    is later is from before the clock was set back, and would wait for as long as that was by."""
    waiting = Outgoing.objects.filter(state=State.WAITING)
    claimed = waiting.filter(claimed_until__gt=now + LEASE)
    first = waiting.filter(attempts=0, due_at__gt=now)
    if (claimed | first).exists():  # hardly ever, and a look is not to write
        claimed.update(claimed_until=now + LEASE, due_at=now)
        first.update(due_at=now)


def _free(now: datetime) -> QuerySet[Outgoing]:
    free = Q(claimed_until=None) | Q(claimed_until__lte=now)
    return Outgoing.objects.filter(free, state=State.WAITING, due_at__lte=now)
