"""When something that could not be sent is tried again."""

import re
from datetime import UTC, datetime, timedelta
from random import Random

from django.utils.http import parse_http_date_safe

MOST_ATTEMPTS = 10
FIRST = timedelta(minutes=1)
LONGEST = timedelta(hours=4)
"""Ten attempts so far apart are given up after half a day: word of the next two days has no use
much later, and a post office that is ill for a night is waited for."""


def pause_after(attempts: int, random: Random) -> timedelta:
    """Return how long to wait after so many attempts: twice as long after each, and up to half as
    long again by chance, so that what failed together is not tried together."""
    doubled: timedelta = FIRST * 2 ** min(attempts - 1, MOST_ATTEMPTS)
    chance: float = 1 + random.random() / 2  # nosec B311
    return min(doubled, LONGEST) * chance


def asked_pause(retry_after: str, now: datetime) -> timedelta | None:
    """Return how long a Retry-After asks to wait (RFC 9110, 10.2.3: seconds, or a date), at most
    ``LONGEST``: a server may say anything. None where it says nothing that can be understood."""
    text = retry_after.strip()
    if re.fullmatch(r"[0-9]{1,40}", text):
        return timedelta(seconds=min(int(text), LONGEST.total_seconds()))
    stamp = parse_http_date_safe(text)
    if stamp is None:
        return None
    return min(max(datetime.fromtimestamp(stamp, UTC) - now, timedelta()), LONGEST)
