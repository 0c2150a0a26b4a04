"""When something that could not be sent is tried again."""

from datetime import timedelta
from random import Random

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
