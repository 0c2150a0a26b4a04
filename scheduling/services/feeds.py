"""The bytes of crew feeds: rendered from published visits, stored with the link, kept fresh."""

import hashlib
from datetime import UTC, date, datetime, time, timedelta
from uuid import uuid5

from django.conf import settings
from django.db.models import F, Q
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext

from finishing.models import Company, Crew
from scheduling.ics import Entry, Feed, feed_bytes
from scheduling.measures import Measures
from scheduling.models import FeedLink, Visit
from scheduling.queries.plans import latest_publication
from scheduling.timezones import pinned_zone
from scheduling.visit_wording import visit_description, visit_title

KEPT_PAST = timedelta(weeks=6)
KEPT_CANCELLED = timedelta(days=7)
NOTED_EVERY = timedelta(minutes=5)
"""How often at most a fetch is noted: a write at each would cost more than the answer."""


def crew_feed(*, crew: Crew, today: date) -> bytes:
    """Return a crew's calendar as of a local day. It depends on nothing else but stored rows."""
    with translation.override(crew.language):  # not that of who happens to ask first
        entries = tuple(visit_entry(visit) for visit in _shown_visits(crew, today))
        about = gettext("Planned work of %(crew)s, %(company)s") % {
            "crew": crew.name,
            "company": crew.company.name,
        }
        return feed_bytes(Feed(crew.name, about, crew.zone, entries or (_no_work_entry(crew),)))


def render_feeds(*, company: Company, now: datetime) -> None:
    """Render every feed of a company that is out of date."""
    links = FeedLink.objects.filter(company=company, revoked_at=None)
    for link in links.select_related("crew__company"):
        refresh_feed(link=link, now=now)


def refresh_feed(*, link: FeedLink, now: datetime) -> FeedLink:
    """Return the link with the bytes of today's local day, rendered if they are not.

    Publishing sets ``rendered_on`` back. A rendering that was overtaken, by another fetch or by
    a publication, is thrown away.
    """
    today = now.astimezone(pinned_zone(link.crew.zone)).date()
    while link.rendered_on != today:
        _render(link, today, now)
        link.refresh_from_db()
    return link


def note_fetch(*, link: FeedLink, now: datetime, client: str) -> None:
    """Remember that and by whom a feed was fetched, at most once in a few minutes."""
    if link.fetched_at and now - link.fetched_at < NOTED_EVERY:
        return
    FeedLink.objects.filter(pk=link.pk).update(fetched_at=now, fetched_by=client[:200])


def _render(link: FeedLink, today: date, now: datetime) -> None:
    """Render outside any transaction and swap in, unless the row has changed meanwhile."""
    latest = latest_publication(link.company)
    body = crew_feed(crew=link.crew, today=today)
    same = bytes(link.body) == body
    FeedLink.objects.filter(pk=link.pk, version=link.version).update(
        body=body,
        etag=f'"{hashlib.sha256(body).hexdigest()}"',
        modified_at=link.modified_at if same else _later(now, link.modified_at),
        rendered_revision=latest.revision if latest else 0,
        rendered_on=today,
        version=F("version") + 1,
    )


def _later(now: datetime, before: datetime | None) -> datetime:
    """Return a stamp that rises with every change: HTTP dates tell whole seconds apart."""
    return max(now, before + timedelta(seconds=1)) if before else now


def _shown_visits(crew: Crew, today: date) -> list[Visit]:
    """Past work of some weeks, all work to come, and what was cancelled lately."""
    zone = pinned_zone(crew.zone)
    since = datetime.combine(today - KEPT_PAST, time(), zone)
    cancelled_since = datetime.combine(today - KEPT_CANCELLED, time(), zone)
    shown = Q(cancelled_at=None, ends_at__gte=since) | Q(
        cancelled_at__isnull=False, starts_at__gte=cancelled_since
    )
    visits = Visit.objects.filter(shown, company=crew.company_id, crew=crew)
    return list(visits.select_related("crew__company", "house"))


def visit_entry(visit: Visit) -> Entry:
    """Return a visit as an entry, in the active language; its crew's company is asked for."""
    cancelled = visit.cancelled_at is not None
    house = visit.content["house"]
    placed = house["latitude"] is not None and house["longitude"] is not None
    return Entry(
        uid=visit.uid,
        sequence=visit.sequence,
        created_at=visit.created_at,
        modified_at=visit.modified_at,
        starts=visit.starts_at,
        ends=visit.ends_at,
        title=visit_title(visit.content, cancelled=cancelled),
        description=visit_description(
            visit.content, pinned_zone(visit.crew.zone), Measures(visit.crew.reads_imperial)
        ),
        location=house["address"] or house["name"],
        position=(house["latitude"], house["longitude"]) if placed else None,
        url=settings.SITE_URL + reverse("web:house", args=[visit.house.public_id]),
        cancelled=cancelled,
    )


def _no_work_entry(crew: Crew) -> Entry:
    """Return what an empty feed holds: some clients refuse to go from entries to none.

    Its day and stamps are when the crew was entered, read from its time-ordered id (RFC 9562,
    5.7), so that it never changes.
    """
    made_at = datetime.fromtimestamp((crew.public_id.int >> 80) // 1000, UTC)
    day = made_at.astimezone(pinned_zone(crew.zone)).date()
    return Entry(
        uid=uuid5(crew.public_id, "no work planned"),
        sequence=0,
        created_at=made_at,
        modified_at=made_at,
        starts=day,
        ends=day + timedelta(days=1),
        title=gettext("No work planned yet"),
    )
