"""The bytes of feeds: rendered from what is published, stored with the link, kept fresh."""

import gzip
import hashlib
import logging
from datetime import UTC, date, datetime, time, timedelta

from django.db.models import F
from django.utils import translation

from finishing.models import Company
from scheduling.feed_wording import about_feed
from scheduling.ics import Feed, feed_bytes
from scheduling.models import FeedLink
from scheduling.queries.links import whole_link
from scheduling.queries.plans import latest_publication
from scheduling.services.feed_entries import feed_entries
from scheduling.services.feed_files import keep_file
from scheduling.timezones import pinned_zone

log = logging.getLogger("scheduling.feeds")


def feed_body(*, link: FeedLink, today: date) -> bytes:
    """Return a feed's calendar as of a local day. It depends on nothing else but stored rows."""
    with translation.override(link.spoken):  # not that of who happens to ask first
        about = about_feed(link.kind, link.subject, link.company.name)
        entries = tuple(feed_entries(link, today))
        return feed_bytes(Feed(link.subject, about, link.zone, entries))


def render_feeds(*, company: Company, now: datetime) -> None:
    """Render every feed of a company that is out of date; one that cannot be is tried again when
    it is next fetched, and keeps nobody else from theirs."""
    links = FeedLink.objects.filter(company=company, revoked_at=None)
    for link in links.select_related("company", "crew__company", "house__company"):
        try:
            refresh_feed(link=link, now=now)
        except Exception:
            log.exception("a feed is not rendered: %s", link.public_id)


def refresh_feed(*, link: FeedLink, now: datetime) -> FeedLink:
    """Return the link with the bytes of today's local day, rendered if they are not.

    Publishing and a change of its options set ``rendered_on`` back. A rendering that was
    overtaken, by another fetch or by one of these, is thrown away.
    """
    today = now.astimezone(pinned_zone(link.zone)).date()
    end = _end_of(today, link.zone)
    while (link.rendered_on, link.good_until) != (today, end):
        whole = whole_link(link)
        if (whole.rendered_on, whole.good_until) != (today, end):
            _render(whole, today, now)
        link.refresh_from_db()
    return link


def _render(link: FeedLink, today: date, now: datetime) -> None:
    """Render outside any transaction and swap in, unless the row has changed meanwhile."""
    latest = latest_publication(link.company)
    body = feed_body(link=link, today=today)
    etag = f'"{hashlib.sha256(body).hexdigest()}"'
    modified_at = _later(now, link.modified_at)
    if link.etag == etag and link.modified_at:
        modified_at = link.modified_at
    is_mine = FeedLink.objects.filter(pk=link.pk, rendering=link.rendering).update(
        body=body,
        body_gzip=gzip.compress(body, mtime=0),
        etag=etag,
        modified_at=modified_at,
        rendered_revision=latest.revision if latest else 0,
        rendered_on=today,
        good_until=_end_of(today, link.zone),
        rendering=F("rendering") + 1,
    )
    if is_mine:
        former = link.former_secrets.filter(still_opens=True)
        digests = [link.secret_sha256, *former.values_list("secret_sha256", flat=True)]
        _keep(digests, body, modified_at)


def _keep(digests: list[str], body: bytes, modified_at: datetime) -> None:
    """Keep the bytes in files too; a disk that takes none keeps nobody from the calendar."""
    try:
        keep_file(digests, body, modified_at)
    except OSError as error:
        log.warning("a feed is kept in no file: %s", error)


def _later(now: datetime, before: datetime | None) -> datetime:
    """Return a stamp that rises with every change: HTTP dates tell whole seconds apart."""
    return max(now, before + timedelta(seconds=1)) if before else now


def _end_of(day: date, zone: str) -> datetime:
    """Return when a day is over on a zone's clock."""
    return datetime.combine(day + timedelta(days=1), time(), pinned_zone(zone)).astimezone(UTC)
