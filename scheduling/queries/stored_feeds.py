"""What a calendar's address is answered with, read as cheaply as rows can be: most programs ask
whether anything is new, and nothing is."""

import hmac
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import QuerySet

from scheduling.models import FeedLink
from scheduling.queries.links import secret_digest

_FIELDS = (
    *("pk", "etag", "modified_at", "rendered_revision"),
    *("secret_sha256", "revoked_at", "good_until"),
)
# Made once: to name the columns of a query takes longer than to ask it.
_STORED = FeedLink.objects.order_by().values_list(*_FIELDS)
_WHOLE = {
    packed: FeedLink.objects.order_by().values_list(*_FIELDS, name)
    for packed, name in ((False, "body"), (True, "body_gzip"))
}


class StoredFeed(NamedTuple):
    """A feed's row as far as an answer needs it. body: None where it was not asked for."""

    pk: int
    etag: str
    modified_at: datetime
    revision: int
    secret_sha256: str
    revoked_at: datetime | None
    good_until: datetime | None
    body: bytes | None = None

    def is_good(self, now: datetime) -> bool:
        """Return whether its bytes may be answered with as they are."""
        is_fresh = self.good_until is not None and now < self.good_until
        return is_fresh and self.revoked_at is None


def stored_by_secret(secret: str, *, packed: bool | None) -> StoredFeed | None:
    """Return the feed of a secret that is in use. packed: with which bytes, if any."""
    digest = secret_digest(secret)
    for found in _rows(packed).filter(secret_sha256=digest):
        stored = StoredFeed(*found)
        return stored if hmac.compare_digest(stored.secret_sha256, digest) else None
    return None


def stored_of(pk: int, *, packed: bool) -> StoredFeed:
    """Return a feed with its bytes and what is said of them, as they are in one moment."""
    return StoredFeed(*_rows(packed).get(pk=pk))


def _rows(packed: bool | None) -> "QuerySet[FeedLink, tuple[Any, ...]]":
    return _STORED if packed is None else _WHOLE[packed]
