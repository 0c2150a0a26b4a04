"""Reads of feed links."""

import hashlib

from django.db.models import QuerySet

from finishing.models import Company
from scheduling.models import FeedLink, FormerSecret


def secret_digest(secret: str) -> str:
    """Return what is stored of a secret: its SHA-256 in hexadecimal."""
    return hashlib.sha256(secret.encode()).hexdigest()


def link_by_secret(secret: str) -> FeedLink | None:
    """Return the link of a secret, revoked or not, with its crew; its body only when asked for."""
    links = FeedLink.objects.select_related("crew__company").defer("body")
    return links.filter(secret_sha256=secret_digest(secret)).first()


def is_former_secret(secret: str) -> bool:
    """Return whether a feed had this secret before it was given another."""
    return FormerSecret.objects.filter(secret_sha256=secret_digest(secret)).exists()


def links_of_company(company: Company) -> QuerySet[FeedLink]:
    """Return the links of a company's crews, by crew name."""
    return FeedLink.objects.filter(company=company).select_related("crew").order_by("crew__name")
