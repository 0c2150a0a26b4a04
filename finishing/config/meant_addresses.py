"""The IPv4 addresses that IPv6 ones stand for: whoever connects to these reaches those."""

from collections.abc import Iterator
from ipaddress import IPv4Address, IPv6Address, IPv6Network

type Address = IPv4Address | IPv6Address

COMPATIBLE = IPv6Network("::/96")  # RFC 4291, 2.5.5.1
TRANSLATED = IPv6Network("64:ff9b::/96")  # RFC 6052, 2.1
TRANSLATED_HERE = IPv6Network("64:ff9b:1::/48")  # RFC 8215
NOBODY = 0x01_00_00_00
"""Below it lies 0.0.0.0/8, which no host has (RFC 6890)."""


def addresses_meant(found: Address) -> list[Address]:
    """Return what an address stands for, itself where that is nothing else; of several that it may
    stand for, all."""
    if not isinstance(found, IPv6Address):
        return [found]
    return list(_inside(found)) or [found]


def _inside(found: IPv6Address) -> Iterator[IPv4Address]:
    if found.ipv4_mapped:
        yield found.ipv4_mapped
    elif found.sixtofour:
        yield found.sixtofour
    elif found.teredo:  # its server, and the client behind it
        yield from found.teredo
    elif found in TRANSLATED:
        yield _last(found)
    elif found in TRANSLATED_HERE:
        yield from _translated_here(found)
    elif found in COMPATIBLE and _last(found) >= IPv4Address(NOBODY):  # :: and ::1 are themselves
        yield _last(found)


def _last(found: IPv6Address) -> IPv4Address:
    return IPv4Address(int(found) & 0xFFFF_FFFF)


def _translated_here(found: IPv6Address) -> Iterator[IPv4Address]:
    """Yield what the translator of a site may take an address for. How long its prefix is only the
    site knows (48, 56, 64 or 96 bits), and bits 64 to 71 are left out (RFC 6052, 2.2)."""
    bits = int(found)
    without_gap = (bits >> 64 << 56) | (bits & ((1 << 56) - 1))  # 120 bits
    shifted = (without_gap >> (120 - prefix - 32) for prefix in (48, 56, 64))
    numbers = (number & 0xFFFF_FFFF for number in (bits, *shifted))
    yield from (IPv4Address(number) for number in numbers if number >= NOBODY)
