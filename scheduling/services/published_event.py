"""What webhooks are told of a publication: the revision, and what is different visit by visit."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from scheduling.models import Outgoing, Publication, Visit, Webhook
from scheduling.services.addresses import host_of
from scheduling.services.visit_changes import VisitChanges

type Json = dict[str, Any]


def listening(company_id: int, event: Webhook.Event) -> list[Webhook]:
    """Return the webhooks of a company that are to be told of an event."""
    rows = Webhook.objects.filter(company=company_id, off_at=None)
    return [webhook for webhook in rows if event in webhook.events]


def event_row(webhook: Webhook, *, key: str, data: Json, event: str, now: datetime) -> Outgoing:
    """Return what tells a webhook of an event; its body is as Standard Webhooks recommends."""
    return Outgoing(
        company_id=webhook.company_id,
        kind=Outgoing.Kind.WEBHOOK,
        key=f"webhook:{webhook.pk}:{key}",
        recipient=host_of(webhook.address)[:254],
        webhook=webhook,
        payload={"type": event, "timestamp": now.isoformat(), "data": data},
        created_at=now,
        due_at=now,
    )


def published_events(
    publication: Publication, changes: VisitChanges, before: Mapping[int, Visit]
) -> Iterator[Outgoing]:
    """Yield a row for each webhook that listens; before: the moved visits as they were."""
    webhooks = listening(publication.company_id, Webhook.Event.PUBLISHED)
    if not webhooks:
        return
    data = _published(publication, changes, before)
    for webhook in webhooks:
        row = event_row(
            webhook,
            key=f"published:{publication.revision}",
            data=data,
            event=Webhook.Event.PUBLISHED,
            now=publication.published_at,
        )
        row.publication = publication
        yield row


def visit_json(visit: Visit) -> Json:
    """Return a visit: its stable uid, where, by whom, when (UTC)."""
    return {
        "uid": str(visit.uid),
        "sequence": visit.sequence,
        "house": {"id": str(visit.house.public_id), "name": visit.content["house"]["name"]},
        "crew": {"id": str(visit.crew.public_id), "name": visit.crew.name},
        "starts_at": visit.starts_at.isoformat(),
        "ends_at": visit.ends_at.isoformat(),
    }


def _published(
    publication: Publication, changes: VisitChanges, before: Mapping[int, Visit]
) -> Json:
    taken_back = publication.takes_back
    return {
        "company": str(publication.company.public_id),
        "revision": publication.revision,
        "takes_back": taken_back.revision if taken_back else None,
        "visits": [
            *({"change": "new", **visit_json(one)} for one in [*changes.new, *changes.revived]),
            *(_moved(one, before[one.pk]) for one in changes.moved),
            *({"change": "cancelled", **visit_json(one)} for one in changes.cancelled),
        ],
    }


def _moved(visit: Visit, was: Visit) -> Json:
    """Return a visit that has another time, or (``changed``) other content."""
    moved = (was.starts_at, was.ends_at) != (visit.starts_at, visit.ends_at)
    told = {"change": "moved" if moved else "changed", **visit_json(visit)}
    times = {"starts_at": was.starts_at.isoformat(), "ends_at": was.ends_at.isoformat()}
    return {**told, "was": times} if moved else told
