"""How often somebody may try to sign in: guessing a password must take years.

Tries are counted before the password is looked at, so that many at once count too, by account and
address together: nobody can keep somebody else out from elsewhere. Whether there is such an account
changes nothing.
"""

import hashlib
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network

from django.db.models import F

from finishing.models import FailedSignIns

MOST_TRIES = 5
LOCKED_FOR = timedelta(minutes=15)


def may_try(*, account: str, address: str, now: datetime) -> bool:
    """Count a try; return whether it may be made. After ``MOST_TRIES`` that failed none may for
    ``LOCKED_FOR`` from the last of them on."""
    FailedSignIns.objects.filter(last_at__lte=now - LOCKED_FOR).delete()
    # From before the clock was set back: nobody is kept out for that hour too.
    FailedSignIns.objects.filter(last_at__gt=now).update(last_at=now)
    digest = _digest(account, address)
    FailedSignIns.objects.get_or_create(digest=digest, defaults={"last_at": now})
    open_rows = FailedSignIns.objects.filter(digest=digest, count__lt=MOST_TRIES)
    return bool(open_rows.update(count=F("count") + 1, last_at=now))


def forget_tries(*, account: str, address: str) -> None:
    """Let somebody who has signed in start anew."""
    FailedSignIns.objects.filter(digest=_digest(account, address)).delete()


def _digest(account: str, address: str) -> str:
    """Return what a try is counted by; what was typed may be a password, and is kept nowhere."""
    said = f"{account.strip().casefold()}\n{_network(address)}"
    return hashlib.sha256(said.encode()).hexdigest()


def _network(address: str) -> str:
    """Return what of an address its owner cannot change at will: of IPv6 the first 64 bits, for
    whoever has one address of a network has them all (RFC 4291, 2.5.1)."""
    try:
        found = ip_address(address)
    except ValueError:
        return address
    if found.version == 4:
        return address
    return str(found.ipv4_mapped or ip_network((int(found) >> 64 << 64, 64)))
