"""Writing what is to be sent, in the transaction of what it tells of; sending comes after it."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.db.models import F
from django.dispatch import Signal

from finishing.services.rows import StaleRowsError
from scheduling.models import Outgoing

outbox_filled = Signal()
"""Sent once rows are there for all to see: whoever sends may begin."""

State = Outgoing.State


@transaction.atomic
def put_out(rows: Iterable[Outgoing]) -> None:
    """Store what is to be sent; a row whose key is there already is not written again."""
    made = list(rows)
    for row in made:
        row.full_clean(validate_constraints=False)
    if made:
        Outgoing.objects.bulk_create(made, ignore_conflicts=True)
        # Robust: nothing that goes wrong with sending may undo what it tells of.
        transaction.on_commit(_announce, robust=True)


@transaction.atomic
def send_again(*, row: Outgoing, version: int, now: datetime) -> None:
    """Put something that has been sent or given up in the queue once more, from its first attempt.

    version: the one that was looked at; raises StaleRowsError where it has another by now, so
    that a second press sends nothing twice.
    """
    rows = Outgoing.objects.filter(pk=row.pk, version=version).exclude(state=State.WAITING)
    again = rows.update(
        state=State.WAITING,
        due_at=now,
        claimed_until=None,
        attempts=0,
        ended_at=None,
        error="",
        version=F("version") + 1,
    )
    if not again:
        raise StaleRowsError([row])
    transaction.on_commit(_announce, robust=True)


def _announce() -> None:
    outbox_filled.send(sender=Outgoing)
