"""Secret addresses of a crew's feed and its page: made, renewed, revoked together. A secret is
never stored and never logged."""

import hashlib
import hmac
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils.text import slugify

from finishing.models import Company, Crew
from finishing.services.rows import StaleRowsError
from scheduling.models import FeedLink, FormerSecret
from scheduling.queries.links import secret_digest


def make_link(*, crew: Crew) -> FeedLink:
    """Return the crew's link, made if it has none."""
    link = FeedLink.objects.filter(crew=crew).first()
    return link or _save(FeedLink(company=crew.company, crew=crew))


def make_links(*, company: Company) -> list[FeedLink]:
    """Return the links of all crews of a company, by crew name, made where there is none."""
    crews = Crew.objects.filter(company=company).select_related("company").order_by("name")
    links = {link.crew_id: link for link in FeedLink.objects.filter(company=company)}
    return [links.get(crew.pk) or make_link(crew=crew) for crew in crews]


@transaction.atomic
def renew_link(*, link: FeedLink) -> FeedLink:
    """Give a link another secret; the old address says from then on that it has ended."""
    former = FormerSecret(company=link.company, link=link, secret_sha256=link.secret_sha256)
    former.full_clean()
    former.save()
    link.generation += 1
    link.revoked_at = None
    return _save(link)


def revoke_link(*, link: FeedLink, now: datetime) -> FeedLink:
    """End a link: its address says that it is gone. ``renew_link`` gives the crew another."""
    link.revoked_at = link.revoked_at or now
    return _save(link)


@transaction.atomic
def renew_seen_link(*, link: FeedLink, generation: int) -> FeedLink:
    """Renew a link that was looked at in this generation; raise StaleRowsError where somebody
    has renewed it meanwhile: a second press must not end the address that was just sent."""
    return renew_link(link=_as_seen(link, generation))


@transaction.atomic
def revoke_seen_link(*, link: FeedLink, generation: int, now: datetime) -> FeedLink:
    """Revoke a link that was looked at in this generation; see :func:`renew_seen_link`."""
    return revoke_link(link=_as_seen(link, generation), now=now)


def feed_address(link: FeedLink) -> str:
    """Return the address to subscribe to. Its last part is only for people and clients' names."""
    slug = slugify(link.crew.name) or "crew"
    return f"{settings.SITE_URL}/feeds/{_secret(link)}/{slug}.ics"


def webcal_address(link: FeedLink) -> str:
    """Return the address in the form that opens a calendar program."""
    return "webcal://" + feed_address(link).partition("://")[2]


def page_address(link: FeedLink) -> str:
    """Return the address of the crew's page for a phone. Its secret is another than the feed's,
    which the makers of calendar programs know."""
    secret = link.public_id.bytes + _page_mac(link, link.generation)
    return f"{settings.SITE_URL}/crew/{urlsafe_b64encode(secret).decode('ascii')}/"


@dataclass(frozen=True)
class PageLink:
    """The link of a page's secret, with its crew. has_ended: it was revoked, or has another
    secret by now."""

    link: FeedLink
    has_ended: bool


def link_of_page(secret: str) -> PageLink | None:
    """Return the link that a page's secret is or was of; None where it is of none."""
    try:
        given = urlsafe_b64decode(secret)
        public_id = UUID(bytes=given[:16])
    except ValueError:
        return None
    links = FeedLink.objects.select_related("crew__company").defer("body")
    link = links.filter(public_id=public_id).first()
    if link is None:
        return None
    if hmac.compare_digest(given[16:], _page_mac(link, link.generation)):
        return PageLink(link, has_ended=link.revoked_at is not None)
    former = (_page_mac(link, number) for number in range(1, link.generation))
    was = any(hmac.compare_digest(given[16:], mac) for mac in former)
    return PageLink(link, has_ended=True) if was else None


def _as_seen(link: FeedLink, generation: int) -> FeedLink:
    """Return the row locked. Its version will not do: it counts each time a feed is rendered."""
    row = FeedLink.objects.select_for_update().get(pk=link.pk)
    if row.generation != generation:
        raise StaleRowsError([row])
    return row


def _page_mac(link: FeedLink, generation: int) -> bytes:
    return _mac(f"page:{link.public_id}:{generation}")


def _save(link: FeedLink) -> FeedLink:
    link.secret_sha256 = secret_digest(_secret(link))
    link.rendered_on = None
    link.version += 1
    link.save()
    return link


def _secret(link: FeedLink) -> str:
    """Return HMAC-SHA256(link key, public id, generation) in URL-safe base64."""
    digest = _mac(f"{link.public_id}:{link.generation}")
    return urlsafe_b64encode(digest).rstrip(b"=").decode("ascii")


def _mac(message: str) -> bytes:
    return hmac.digest(settings.LINK_KEY.encode(), message.encode("ascii"), hashlib.sha256)
