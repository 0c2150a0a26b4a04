"""Looking whether visits still find their coats dry, once there is new air or a crew has said how
its work stands, for webhooks that want to know.

It takes a moment to work out, so it is written down to be done and is done by whoever sends.
"""

from collections.abc import Iterator
from datetime import datetime
from uuid import uuid4

from django.db import transaction
from django.utils import timezone

from finishing.models import Company
from scheduling.models import Outgoing, Webhook
from scheduling.services.outbox import put_out
from scheduling.services.published_event import event_row, listening, visit_json
from scheduling.services.wet_visits import WetCoat, WetVisit, wet_visits

EVENT = Webhook.Event.BEFORE_DRY
Kind, State = Outgoing.Kind, Outgoing.State


@transaction.atomic
def ask_to_look(*, company_id: int) -> None:
    """Have somebody look at a company's visits, since something is known that was not; nothing
    where nobody listens, or a look has not begun that will see all as it is now."""
    if not listening(company_id, EVENT):
        return
    looks = Outgoing.objects.filter(company=company_id, kind=Kind.LOOK)
    looks.filter(state=State.SENT).delete()  # nobody reads which looks there have been
    if looks.filter(state=State.WAITING, attempts=0).exists():
        return
    now = timezone.now()
    put_out(
        [
            Outgoing(
                company_id=company_id,
                kind=Kind.LOOK,
                key=f"look:{uuid4()}",
                recipient="ourselves",
                created_at=now,
                due_at=now,
            )
        ]
    )


@transaction.atomic
def tell_of_wet_visits(*, company: Company, now: datetime) -> None:
    """Write word of the visits that arrive before a coat is dry, each coat of each visit once."""
    webhooks = listening(company.pk, EVENT)
    found = [one for one in wet_visits(company=company, now=now) if one.coats] if webhooks else []
    put_out(row for webhook in webhooks for row in _events(webhook, found, now))


def _events(webhook: Webhook, found: list[WetVisit], now: datetime) -> Iterator[Outgoing]:
    for wet in found:
        visit = wet.visit
        key = f"before_dry:{visit.uid}:{visit.sequence}"
        told = Outgoing.objects.filter(
            webhook=webhook, key__startswith=f"webhook:{webhook.pk}:{key}:"
        )
        payloads = list(told.values_list("payload", flat=True))
        known = {_name(coat) for payload in payloads for coat in payload["data"]["coats"]}
        coats = [coat for coat in map(_coat_json, wet.coats) if _name(coat) not in known]
        if coats:
            data = {"visit": visit_json(visit), "coats": coats}
            yield event_row(
                webhook, key=f"{key}:{len(payloads) + 1}", data=data, event=EVENT, now=now
            )


def _coat_json(coat: WetCoat) -> dict[str, str]:
    """Return which coat it is, the stage that would go over it, and when it is ready (UTC)."""
    return {
        "room": coat.room,
        "stage": coat.stage,
        "coat": coat.coat,
        "ready_at": coat.ready_at.isoformat(),
        "reason": coat.reason,
    }


def _name(coat: dict[str, str]) -> tuple[str, str, str]:
    """Return what makes two findings the same: when a coat is ready changes with every forecast."""
    return coat["room"], coat["stage"], coat["coat"]
