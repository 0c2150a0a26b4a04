"""Secrets of feeds and of crews' pages: worked out again from a key, never stored, never logged."""

import hashlib
import hmac
from base64 import urlsafe_b64encode

from django.conf import settings

from scheduling.models import CrewPage, FeedLink
from scheduling.queries.links import secret_digest

type Secretive = FeedLink | CrewPage


def new_secret(row: Secretive) -> str:
    """Return the secret of a row's generation, made with the link key: 256 bits."""
    return _secret(row, settings.LINK_KEY)


def secret_of(row: Secretive) -> str | None:
    """Return the secret that a row has; None where the key that it was made with is no longer
    set: its address works, but nobody can be shown it again."""
    for key in (settings.LINK_KEY, *settings.FORMER_LINK_KEYS):
        secret = _secret(row, key)
        if hmac.compare_digest(secret_digest(secret), row.secret_sha256):
            return secret
    return None


def has_newest_key(row: Secretive) -> bool:
    """Return whether a row's secret was made with the link key."""
    return hmac.compare_digest(secret_digest(new_secret(row)), row.secret_sha256)


def _secret(row: Secretive, key: str) -> str:
    """Return it in URL-safe base64. A page's is of another message than a feed's, which the makers
    of calendar programs know, and has the page's id in front."""
    said = f"{row.public_id}:{row.generation}"
    if isinstance(row, CrewPage):
        return _text(row.public_id.bytes + _mac(key, f"page:{said}"))
    return _text(_mac(key, said))


def _mac(key: str, message: str) -> bytes:
    return hmac.digest(key.encode(), message.encode("ascii"), hashlib.sha256)


def _text(secret: bytes) -> str:
    return urlsafe_b64encode(secret).rstrip(b"=").decode("ascii")
