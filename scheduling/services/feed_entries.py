"""Published rows -> the entries of a calendar, by what it is of and who follows it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext

from scheduling.feed_wording import (
    builder_description,
    cancelled_title,
    crew_visit_title,
    drying_description,
    drying_title,
    handover_description,
    handover_title,
)
from scheduling.ics import Entry
from scheduling.measures import Measures
from scheduling.models import FeedLink, ToldHandover, Visit, VisitPerson
from scheduling.services.visit_content import told_crew
from scheduling.timezones import pinned_zone
from scheduling.visit_wording import visit_description, visit_title

KEPT_PAST = timedelta(weeks=6)
KEPT_CANCELLED = timedelta(days=7)
ALARM_BEFORE = timedelta(hours=1)
ONE_DAY = timedelta(days=1)

Kind = FeedLink.Kind


@dataclass(frozen=True)
class Shown:
    """A visit with the identity and stamps that it has in one calendar."""

    visit: Visit
    uid: UUID
    sequence: int
    created_at: datetime
    modified_at: datetime
    cancelled: bool


def feed_entries(link: FeedLink, today: date) -> Iterator[Entry]:
    """Yield a calendar's entries as of a local day, in the language that is active.

    Past work of some weeks, work to come as far as the link goes, and what was cancelled lately;
    where there is none of it, one that says so: some clients refuse to go from entries to none.
    """
    entries = [
        *_work_entries(link, list(_shown_visits(link, today))),
        *(_handover_entry(link, row) for row in _handovers(link, today)),
    ]
    yield from entries or [_no_work_entry(link)]


def _work_entries(link: FeedLink, shown: Iterable[Shown]) -> Iterator[Entry]:
    for one in shown:
        yield _visit_entry(link, one)
        if link.shows_drying and (entry := _drying_entry(link, one)):
            yield entry


def _shown_visits(link: FeedLink, today: date) -> Iterator[Shown]:
    if link.kind == Kind.PERSON:
        yield from _visits_of_person(link, today)
        return
    of_kind = {Kind.CREW: Q(crew=link.crew), Kind.HOUSE: Q(house=link.house), Kind.COMPANY: Q()}
    rows = Visit.objects.filter(
        of_kind[Kind(link.kind)], _span(link, today, ""), company=link.company_id
    )
    for visit in rows.select_related("crew__company", "house"):
        own = visit.uid if link.kind == Kind.CREW else uuid5(visit.uid, link.kind)
        yield _shown(link, visit, own, visit)


def _visits_of_person(link: FeedLink, today: date) -> Iterator[Shown]:
    rows = VisitPerson.objects.filter(
        _span(link, today, "visit__"), company=link.company_id, person=link.person
    )
    for row in rows.select_related("visit__crew__company", "visit__house").order_by(
        "visit__starts_at", "pk"
    ):
        yield _shown(link, row.visit, row.uid, row)


def _shown(link: FeedLink, visit: Visit, uid: UUID, row: Visit | VisitPerson) -> Shown:
    told_at, cancelled = _told_at(link, row.modified_at), row.cancelled_at is not None
    return Shown(visit, uid, row.sequence, row.created_at, told_at, cancelled)


def _told_at(link: FeedLink, modified_at: datetime) -> datetime:
    return max(modified_at, link.retold_at) if link.retold_at else modified_at


def _span(link: FeedLink, today: date, visit: str) -> Q:
    """Return which rows are near enough; visit: the path from a row to its visit."""
    zone = pinned_zone(link.zone)
    since = datetime.combine(today - KEPT_PAST, time(), zone)
    cancelled_since = datetime.combine(today - KEPT_CANCELLED, time(), zone)
    near = Q(**{"cancelled_at": None, f"{visit}ends_at__gte": since}) | Q(
        **{"cancelled_at__isnull": False, f"{visit}starts_at__gte": cancelled_since}
    )
    if link.weeks is None:
        return near
    until = datetime.combine(today + timedelta(weeks=link.weeks), time(), zone)
    return near & Q(**{f"{visit}starts_at__lt": until})


def visit_entry(visit: Visit) -> Entry:
    """Return a visit as its crew's calendar has it, in the active language."""
    link = FeedLink(company=visit.crew.company, crew=visit.crew)
    return _visit_entry(link, _shown(link, visit, visit.uid, visit))


def _visit_entry(link: FeedLink, shown: Shown) -> Entry:
    visit, house = shown.visit, shown.visit.content["house"]
    placed = house["latitude"] is not None and house["longitude"] is not None
    is_builders = link.kind == Kind.HOUSE
    page = settings.SITE_URL + reverse("web:visit", args=[visit.public_id])
    return Entry(
        uid=shown.uid,
        sequence=shown.sequence,
        created_at=shown.created_at,
        modified_at=shown.modified_at,
        starts=visit.starts_at,
        ends=visit.ends_at,
        title=_title(link, shown),
        description=_description(link, visit),
        location=house["address"] or house["name"],
        position=(house["latitude"], house["longitude"]) if placed else None,
        url="" if is_builders else page,  # which opens for the company's own people
        cancelled=shown.cancelled,
        takes_time=link.kind in {Kind.CREW, Kind.PERSON},
        alarm_before=ALARM_BEFORE if link.has_alarms else None,
    )


def _title(link: FeedLink, shown: Shown) -> str:
    visit = shown.visit
    title = visit_title(visit.content)
    if link.kind in {Kind.COMPANY, Kind.PERSON}:
        title = crew_visit_title(visit.content, told_crew(visit))
    return cancelled_title(title) if shown.cancelled else title


def _description(link: FeedLink, visit: Visit) -> str:
    zone = pinned_zone(link.zone)
    if link.kind == Kind.HOUSE:
        crew = told_crew(visit) if link.names_crews else ""
        return builder_description(visit.content, visit.ends_at, zone, crew)
    return visit_description(visit.content, zone, Measures(visit.crew.reads_imperial))


def _drying_entry(link: FeedLink, shown: Shown) -> Entry | None:
    """Return the time after a visit in which nobody may touch its coats; None where none is wet."""
    visit = shown.visit
    ready = [datetime.fromisoformat(t["ready_at"]) for t in visit.content["tasks"] if t["ready_at"]]
    until = max(ready, default=visit.ends_at)
    if until <= visit.ends_at:
        return None
    title = drying_title(visit.content)
    house = visit.content["house"]
    return Entry(
        uid=uuid5(shown.uid, "drying"),
        sequence=shown.sequence,
        created_at=shown.created_at,
        modified_at=shown.modified_at,
        starts=visit.ends_at,
        ends=until,
        title=cancelled_title(title) if shown.cancelled else title,
        description=drying_description(visit.content, visit.ends_at, pinned_zone(link.zone)),
        location=house["address"] or house["name"],
        cancelled=shown.cancelled,
        takes_time=False,
    )


def _handovers(link: FeedLink, today: date) -> Iterable[ToldHandover]:
    if link.kind not in {Kind.HOUSE, Kind.COMPANY}:
        return ()
    rows = ToldHandover.objects.filter(company=link.company_id).select_related("house")
    if link.kind == Kind.HOUSE:
        rows = rows.filter(house=link.house)
    if link.weeks is not None:
        rows = rows.filter(due_on__lt=today + timedelta(weeks=link.weeks))
    return rows.filter(
        Q(cancelled_at=None, due_on__gte=today - KEPT_PAST)
        | Q(cancelled_at__isnull=False, due_on__gte=today - KEPT_CANCELLED)
    )


def _handover_entry(link: FeedLink, row: ToldHandover) -> Entry:
    cancelled = row.cancelled_at is not None
    title = handover_title(row.content)
    return Entry(
        uid=row.uid if link.kind == Kind.HOUSE else uuid5(row.uid, link.kind),
        sequence=row.sequence,
        created_at=row.created_at,
        modified_at=_told_at(link, row.modified_at),
        starts=row.due_on,
        ends=row.due_on + ONE_DAY,
        title=cancelled_title(title) if cancelled else title,
        description=handover_description(row.content, row.holds_on, ZoneInfo(row.house.zone)),
        cancelled=cancelled,
    )


def _no_work_entry(link: FeedLink) -> Entry:
    """Return what a feed without work holds.

    Its day and first stamp are when the crew, house or company was entered, read from its
    time-ordered id (RFC 9562, 5.7).
    """
    public_id = (link.crew or link.house or link.company).public_id
    made_at = datetime.fromtimestamp((public_id.int >> 80) // 1000, UTC)
    day = made_at.astimezone(pinned_zone(link.zone)).date()
    return Entry(
        uid=uuid5(public_id, f"no work planned {link.person}".strip()),
        sequence=0,
        created_at=made_at,
        modified_at=_told_at(link, made_at),
        starts=day,
        ends=day + ONE_DAY,
        title=gettext("No work planned yet"),
    )
