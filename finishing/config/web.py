"""How the pages are reached: hosts, and what a browser is told about the way to them."""

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from finishing.config.reader import Reader, WholeNumber, is_address

HERE = ("127.0.0.1", "localhost", "[::1]")
TRUSTED_PROXIES = WholeNumber(default=0, least=0, most=10)
_HOST = re.compile(r"\*|\.?[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*\.?|\[[0-9a-fA-F:.]+\]")
TWO_YEARS_S = 2 * 366 * 24 * 60 * 60


@dataclass(frozen=True)
class Web:
    """hosts: host names that are served. site_url: where links point that others are given.
    hsts_seconds: for how long browsers are to come by https alone (RFC 6797); also to hosts below
    this one (hsts_subdomains), and listed so in browsers (hsts_preload). trusted_proxies: through
    how many proxies that may be believed every request comes, each of which adds to X-Forwarded-For
    whom it was asked by."""

    hosts: tuple[str, ...]
    site_url: str
    hsts_seconds: int
    hsts_subdomains: bool
    hsts_preload: bool
    trusted_proxies: int

    @property
    def public_host(self) -> str:
        """A host by which others reach this installation; blank if there is none."""
        return next((host for host in self.hosts if host not in HERE), "")

    @property
    def is_https(self) -> bool:
        """Whether browsers come by https."""
        return urlsplit(self.site_url).scheme == "https"


def web(reader: Reader, *, debug: bool) -> Web:
    """Return how the pages are reached. This machine itself always may: it asks whether all is
    well."""
    hosts = tuple(dict.fromkeys((*_hosts(reader), *HERE)))
    found = Web(
        hosts=hosts,
        site_url=_site_url(reader),
        hsts_seconds=reader.number(
            "COATWEAVE_HSTS_SECONDS", WholeNumber(default=0, least=0, most=TWO_YEARS_S)
        ),
        hsts_subdomains=reader.flag("COATWEAVE_HSTS_SUBDOMAINS"),
        hsts_preload=reader.flag("COATWEAVE_HSTS_PRELOAD"),
        trusted_proxies=reader.number("COATWEAVE_TRUSTED_PROXIES", TRUSTED_PROXIES),
    )
    if debug and found.public_host:
        reader.faults.append(
            f"COATWEAVE_DEBUG is on, and COATWEAVE_HOSTS names {found.public_host!r}: "
            "whoever comes there would be shown errors in full"
        )
    return found


def _hosts(reader: Reader) -> tuple[str, ...]:
    names = reader.words("COATWEAVE_HOSTS")
    reader.faults.extend(
        f"COATWEAVE_HOSTS: {name[:80]!r} is not the name of a host (without https:// and port)"
        for name in names
        if not _HOST.fullmatch(name)
    )
    return names


def _site_url(reader: Reader) -> str:
    text = reader.text("COATWEAVE_SITE_URL", "http://127.0.0.1:8000").rstrip("/")
    if not is_address(text, "https", "http") or {"?", "#"} & set(text):
        reader.faults.append(f"COATWEAVE_SITE_URL: {text[:80]!r} is not an address of a site")
    return text
