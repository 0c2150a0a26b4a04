"""Which address a request came from, behind so many proxies of one's own as the settings say."""

import re
from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest

_WITH_PORT = re.compile(r"\[(?P<six>[^\]]+)\](:[0-9]+)?|(?P<four>[0-9.]+):[0-9]+")
"""As some proxies write it (RFC 7239, 6)."""


def address_of(request: HttpRequest | None) -> str | None:
    """Return where a request came from; None where that is no address.

    Each proxy adds to the end of X-Forwarded-For whom it was asked by, whatever stood there before:
    what lies further left than our own proxies anybody may have written. A header that has less
    than it should, or what is no address, says no more than the connection does.
    """
    if request is None:
        return None
    connection = _address(request.META.get("REMOTE_ADDR", ""))
    proxies: int = settings.TRUSTED_PROXIES
    named = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
    if proxies == 0 or len(named) < proxies:
        return connection
    return _address(named[-proxies]) or connection


def _address(text: str) -> str | None:
    found = _WITH_PORT.fullmatch(text.strip())
    bare = (found["six"] or found["four"]) if found else text.strip()
    try:
        return str(ip_address(bare))
    except ValueError:
        return None
