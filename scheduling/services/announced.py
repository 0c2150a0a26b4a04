"""What is sent out about a new revision, written with it: word of the next two days' changes by
e-mail, all of them to webhooks and into calendars on other servers."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Crew
from scheduling.models import Outgoing, Publication, Visit
from scheduling.services.outbox import put_out
from scheduling.services.published_event import published_events
from scheduling.services.pushes import published_pushes
from scheduling.services.recipients import addresses_of
from scheduling.services.visit_changes import VisitChanges
from scheduling.visit_wording import visit_title

SOON = timedelta(hours=48)
"""Calendars look up to a day apart: what changes within that is told by e-mail as well."""

type Change = dict[str, Any]
"""A visit's change as a row keeps it: uid, the sequence it has since, kind, and where it was
planned before its start and end (ISO 8601)."""


def announce(publication: Publication, changes: VisitChanges) -> None:
    """Write what is to be sent about a publication; call it in its transaction, before the visits
    are stored, since what they were is read from their rows."""
    before = Visit.objects.in_bulk([visit.pk for visit in changes.moved])
    put_out(
        [
            *_mails(publication, changes, before),
            *published_events(publication, changes, before),
            *published_pushes(publication),
        ]
    )


def _mails(
    publication: Publication, changes: VisitChanges, before: Mapping[int, Visit]
) -> Iterator[Outgoing]:
    now = publication.published_at
    by_crew: defaultdict[Crew, list[tuple[Visit, Change]]] = defaultdict(list)
    for visit, change in _changes(changes, before):
        if _is_soon(change, now):
            by_crew[visit.crew].append((visit, change))
    for crew, told in by_crew.items():
        days = {_day(moment, crew) for _, change in told for moment in _starts(change)}
        payload = {"changes": [change for _, change in told]}
        for address in addresses_of(crew, days):
            yield Outgoing(
                company_id=publication.company_id,
                kind=Outgoing.Kind.MAIL,
                key=f"mail:{publication.revision}:{crew.pk}:{address.casefold()}",
                recipient=address,
                publication=publication,
                crew=crew,
                payload=payload,
                created_at=now,
                due_at=now,
            )


def _changes(changes: VisitChanges, before: Mapping[int, Visit]) -> Iterator[tuple[Visit, Change]]:
    """Yield what is different for a crew: a visit's times, its work, or only what it says."""
    for visit in sorted([*changes.new, *changes.revived], key=_start):
        yield visit, _change("new", visit)
    for visit in sorted(changes.moved, key=_start):
        was = before[visit.pk]
        if (was.starts_at, was.ends_at) != (visit.starts_at, visit.ends_at):
            yield visit, _change("moved", visit, was)
        else:
            same_work = visit_title(was.content) == visit_title(visit.content)
            yield visit, _change("reworded" if same_work else "changed", visit)
    for visit in sorted(changes.cancelled, key=_start):
        yield visit, _change("cancelled", visit)


def _change(kind: str, visit: Visit, was: Visit | None = None) -> Change:
    return {
        "uid": str(visit.uid),
        "sequence": visit.sequence,
        "kind": kind,
        "starts_at": visit.starts_at.isoformat(),
        "ends_at": visit.ends_at.isoformat(),
        "was": [was.starts_at.isoformat(), was.ends_at.isoformat()] if was else [],
    }


def _is_soon(change: Change, now: datetime) -> bool:
    """Return whether a visit begins, or was to begin, within two days, and is not over."""
    ends = (datetime.fromisoformat(text) for text in (change["ends_at"], *change["was"][1:]))
    return max(ends) > now and min(_starts(change)) < now + SOON


def _starts(change: Change) -> Iterable[datetime]:
    return [datetime.fromisoformat(text) for text in (change["starts_at"], *change["was"][:1])]


def _day(moment: datetime, crew: Crew) -> date:
    return moment.astimezone(ZoneInfo(crew.zone)).date()


def _start(visit: Visit) -> tuple[datetime, str]:
    return visit.starts_at, str(visit.uid)
