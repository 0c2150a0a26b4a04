"""Reads of secret addresses, by secret and by company."""

import hashlib
import hmac
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from finishing.models import Company, Crew
from scheduling.models import CrewPage, FeedLink, FormerPageSecret, FormerSecret
from scheduling.models.link import Former, Secret

ANSWERED = (
    *("secret_sha256", "revoked_at", "rendered_on", "good_until", "company", "crew", "house"),
    *("company__zone", "crew__zone", "house__zone"),
)


@dataclass(frozen=True)
class Found[R: Secret]:
    """What a secret is or was of. has_ended: it was revoked, or has another secret by now."""

    row: R
    has_ended: bool


def secret_digest(secret: str) -> str:
    """Return what is stored of a secret: its SHA-256 in hexadecimal."""
    return hashlib.sha256(secret.encode(errors="surrogatepass")).hexdigest()


def link_by_secret(secret: str) -> Found[FeedLink] | None:
    """Return the feed of a secret with what tells whether it has to be rendered, in one query
    unless the secret is a former one; all else only when asked for."""
    links = FeedLink.objects.select_related("company", "crew", "house").only(*ANSWERED)
    return _found(links, FormerSecret.objects.all(), secret)


def whole_link(link: FeedLink) -> FeedLink:
    """Return a feed with what it is of, for rendering."""
    rows = feed_links().select_related("crew__company", "house__company")
    return rows.get(pk=link.pk)


def page_by_secret(secret: str) -> Found[CrewPage] | None:
    """Return the crew's page of a secret with its crew."""
    pages = CrewPage.objects.select_related("crew__company")
    return _found(pages, FormerPageSecret.objects.all(), secret)


def feed_links() -> QuerySet[FeedLink]:
    """Return feeds without their bytes."""
    return FeedLink.objects.select_related("company", "crew", "house").defer("body", "body_gzip")


def links_of_company(company: Company) -> QuerySet[FeedLink]:
    """Return a company's feeds without their bytes: of crews, houses, people and itself, each by
    name."""
    order = ("crew__name", "house__name", "person", "for_whom", "pk")
    return feed_links().filter(company=company).order_by(*order)


def links_of_crews(company: Company) -> QuerySet[FeedLink]:
    """Return the feeds of a company's crews, by crew name."""
    return links_of_company(company).filter(kind=FeedLink.Kind.CREW)


def pages_of(crews: Iterable[Crew]) -> dict[int, CrewPage]:
    """Return the pages of crews, by crew (primary key)."""
    return {page.crew_id: page for page in CrewPage.objects.filter(crew__in=list(crews))}


def _found[R: Secret, F: Former](
    rows: QuerySet[R], former: QuerySet[F], secret: str
) -> Found[R] | None:
    digest = secret_digest(secret)
    row = rows.filter(secret_sha256=digest).first()
    if row is not None and hmac.compare_digest(row.secret_sha256, digest):
        return Found(row, has_ended=row.revoked_at is not None)
    was = former.filter(secret_sha256=digest).first()
    if was is None or not hmac.compare_digest(was.secret_sha256, digest):
        return None
    row = rows.get(former_secrets=was)
    return Found(row, has_ended=not was.still_opens or row.revoked_at is not None)
