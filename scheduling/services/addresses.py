"""Addresses that something may be sent to: https, and at a host that the operator has named."""

from collections.abc import Iterator
from typing import Protocol
from urllib.parse import SplitResult, urlsplit

HTTPS_PORT = 443
LONGEST = 500


class Allowed(Protocol):
    """The hosts that a setting names."""

    def names(self, host: str, port: int) -> bool:
        """Return whether a host may be sent to, at this port."""


def address_faults(address: str, allowed: Allowed) -> Iterator[str]:
    """Yield the codes of what is wrong with an address, for wording."""
    parts = _parts(address)
    if parts is None or not parts.hostname or len(address) > LONGEST or not address.isascii():
        yield "not_an_address"
        return
    if parts.scheme != "https":
        yield "not_https"
    if parts.username or parts.password:
        yield "sign_in_inside"
    if not allowed.names(parts.hostname, parts.port or HTTPS_PORT):
        yield "host_not_allowed"


def host_of(address: str) -> str:
    """Return the host of an address, which may be shown: a path may be a secret."""
    parts = _parts(address)
    return (parts.hostname or "") if parts else ""


def _parts(address: str) -> SplitResult | None:
    """Return the parts of an address; None where it has no sense, or would have another one for
    another reader: with spaces, control characters or a back slash in it."""
    if any(not c.isprintable() or c in " \\" for c in address):
        return None
    try:
        parts = urlsplit(address)
        parts.port  # noqa: B018 - raises for one that is none
    except ValueError:
        return None
    return parts
