"""Which machine an address leads to, looked up once and checked before anything is sent.

A host that the operator has named may still point into a private network, by mistake or by whoever
runs its name server: what is connected to is the address that was checked, not the name once more.
"""

import socket
from dataclasses import dataclass
from typing import Protocol
from urllib.parse import urlsplit, urlunsplit

from scheduling.outgoing.not_sent import NotSent
from scheduling.services.addresses import HTTPS_PORT, address_faults


class Allowed(Protocol):
    """What a setting lets this program send to."""

    def names(self, host: str, port: int) -> bool:
        """Return whether a host may be sent to, at this port."""

    def lets(self, address: str) -> bool:
        """Return whether an address that a host has may be connected to."""


@dataclass(frozen=True)
class Reached:
    """An address with its host's number in the place of its name. host: as the header names it."""

    url: str
    name: str
    number: str
    host: str


def reach(address: str, allowed: Allowed) -> Reached:
    """Return where to send to; raise NotSent where that is not, or no longer, allowed."""
    if any(address_faults(address, allowed)):
        raise NotSent("its host is not, or no longer, one that may be sent to", for_good=True)
    parts = urlsplit(address)
    name, port = parts.hostname or "", parts.port or HTTPS_PORT
    number = _number(name, port, allowed)
    shown = f"[{number}]" if ":" in number else number
    url = urlunsplit(("https", f"{shown}:{port}", parts.path or "/", parts.query, ""))
    return Reached(url, name, number, name if port == HTTPS_PORT else f"{name}:{port}")


def _number(name: str, port: int, allowed: Allowed) -> str:
    """Return the first address of a host; none of them may be private, for it is not ours to say
    which of them a client would take."""
    try:
        found = socket.getaddrinfo(name, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise NotSent("its host's name cannot be looked up") from None
    numbers = [str(sockaddr[0]) for *_, sockaddr in found]
    if not numbers or not all(allowed.lets(number) for number in numbers):
        raise NotSent("its host is in a private network that is not listed", for_good=True)
    return numbers[0]
