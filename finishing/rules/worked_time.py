"""How long people were at work between two moments of a day."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

type Hours = tuple[datetime, datetime]


def worked_minutes(start: datetime, end: datetime, hours: Sequence[Hours]) -> int:
    """Return the whole minutes (rounded down) from ``start`` to ``end`` (aware) without breaks.

    hours: the stretches that a crew works on that day; between two of them it has its break. What
    is worked before the first or after the last counts. Raises ValueError for an end before its
    start.
    """
    if end < start:
        raise ValueError("the end is before the start")
    worked = end - start
    ordered = sorted(hours)
    for (_, stops), (goes_on, _) in pairwise(ordered):
        worked -= max(min(end, goes_on) - max(start, stops), timedelta())
    return worked // timedelta(minutes=1)
