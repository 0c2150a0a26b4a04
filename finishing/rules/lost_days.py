"""On which days nobody worked in a house between its first and its last visit, and why not.

A day is lost where crews work on such days, some work of the house was behind it and some to
come, and nobody was there. Each lost day has one cause: whatever others kept the crew from counts
before a coat that was not dry, and where neither held the crew was elsewhere.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum


class Cause(StrEnum):
    """Why nobody worked in a house, what counts first before what counts last."""

    OTHERS = "others"
    """The house was not ready, closed, damaged or locked."""
    DRYING = "drying"
    ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True)
class Held:
    """Days on which something kept crews from a house, both ends included; none where ``last`` is
    before ``first``."""

    cause: Cause
    first: date
    last: date


def lost_days(
    *, worked: Collection[date], working: Collection[date], held: Iterable[Held]
) -> dict[date, Cause]:
    """Return the lost days in order, each with its cause.

    worked: days with work done in the house. working: days on which its crews work.
    """
    if not worked:
        return {}
    day, last = min(worked), max(worked)
    stretches = list(held)
    lost = {}
    while day < last:
        if day in working and day not in worked:
            lost[day] = _cause(day, stretches)
        day += timedelta(days=1)
    return lost


def _cause(day: date, stretches: Iterable[Held]) -> Cause:
    causes = {one.cause for one in stretches if one.first <= day <= one.last}
    return next((cause for cause in Cause if cause in causes), Cause.ELSEWHERE)
