"""What calendars have to show: read from the database, and not by what writes calendars.

A visit has the UID of its row in its crew's calendar and one of its own in each other kind, always
the same: another one would leave the old entry in calendars that keep what they have seen.
"""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from django.utils import translation

from finishing.models import Company
from scheduling.feed_wording import cancelled_title, crew_visit_title, drying_title, handover_title
from scheduling.models import FeedLink, ToldHandover, Visit, VisitPerson
from scheduling.queries.plans import working_plan
from scheduling.queries.visits import plan_blocks
from scheduling.visit_wording import visit_title
from tests.clients.reading import Reading, Shown

Kind = FeedLink.Kind


def planned_for(link: FeedLink) -> Reading:
    """Return what whoever follows a calendar has been told, with what was called off."""
    with translation.override(link.spoken):
        return Reading.of([*_visits(link), *_handovers(link)], link.subject)


def assert_visits_are_the_plan(company: Company) -> None:
    """Visits that are not called off are the blocks of the plan, neither more nor fewer."""
    plan = working_plan(company)
    assert plan is not None
    planned = {(b.crew.pk, b.house.pk, b.starts_at, b.ends_at) for b in plan_blocks(plan)}
    told = Visit.objects.filter(company=company, cancelled_at=None)
    assert set(told.values_list("crew", "house", "starts_at", "ends_at")) == planned


def _visits(link: FeedLink) -> Iterator[Shown]:
    if link.kind == Kind.PERSON:
        for row in VisitPerson.objects.filter(company=link.company, person=link.person):
            yield from _visit(link, row.visit, row.uid, is_off=row.cancelled_at is not None)
        return
    visits = Visit.objects.filter(company=link.company)
    if link.kind == Kind.CREW:
        visits = visits.filter(crew=link.crew)
    if link.kind == Kind.HOUSE:
        visits = visits.filter(house=link.house)
    for visit in visits:
        uid = visit.uid if link.kind == Kind.CREW else uuid5(visit.uid, link.kind)
        yield from _visit(link, visit, uid, is_off=visit.cancelled_at is not None)


def _visit(link: FeedLink, visit: Visit, uid: UUID, *, is_off: bool) -> Iterator[Shown]:
    title = visit_title(visit.content)
    if link.kind in {Kind.PERSON, Kind.COMPANY}:
        title = crew_visit_title(visit.content, visit.content["crew"])
    yield _shown(uid, visit.starts_at, visit.ends_at, title, is_off=is_off)
    if link.shows_drying:
        dry = max(datetime.fromisoformat(task["ready_at"]) for task in visit.content["tasks"])
        title = drying_title(visit.content)
        yield _shown(uuid5(uid, "drying"), visit.ends_at, dry, title, is_off=is_off)


def _handovers(link: FeedLink) -> Iterator[Shown]:
    rows = ToldHandover.objects.filter(company=link.company)
    if link.kind == Kind.HOUSE:
        rows = rows.filter(house=link.house)
    elif link.kind != Kind.COMPANY:
        rows = rows.none()
    for row in rows:
        uid = row.uid if link.kind == Kind.HOUSE else uuid5(row.uid, link.kind)
        end = row.due_on + timedelta(days=1)
        is_off = row.cancelled_at is not None
        yield _shown(uid, row.due_on, end, handover_title(row.content), is_off=is_off)


def _shown(uid: UUID, starts: date, ends: date, title: str, *, is_off: bool) -> Shown:
    title = cancelled_title(title) if is_off else title
    return Shown.of(str(uid), starts, ends, title, status="CANCELLED" if is_off else None)
