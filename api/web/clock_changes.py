"""When the clocks of a zone change. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

_A_DAY, _A_MINUTE = timedelta(days=1), timedelta(minutes=1)


@dataclass(frozen=True)
class ClockChange:
    """At an instant (UTC) clocks that show ``before`` are put to ``after``: forward by so much,
    below zero where they are put back."""

    at: datetime
    before: time
    after: time
    forward: timedelta


def clock_changes(first: datetime, last: datetime, zone: ZoneInfo) -> Iterator[ClockChange]:
    """Yield the changes after ``first`` and up to ``last``, which are aware. Two that lie within a
    day of each other and undo each other are not found."""
    low = first.astimezone(UTC)
    while low < last:
        high = min(low + _A_DAY, last.astimezone(UTC))
        if _offset(low, zone) != _offset(high, zone):
            yield _change_between(low, high, zone)
        low = high


def _change_between(low: datetime, high: datetime, zone: ZoneInfo) -> ClockChange:
    """Return the change between two instants, to the minute."""
    offset = _offset(low, zone)
    while high - low > _A_MINUTE:
        middle = low + (high - low) / 2
        if _offset(middle, zone) == offset:
            low = middle
        else:
            high = middle
    at = high.replace(second=0, microsecond=0)
    forward = _offset(high, zone) - offset
    return ClockChange(at, (at + offset).time(), at.astimezone(zone).time(), forward)


def _offset(instant: datetime, zone: ZoneInfo) -> timedelta:
    offset = instant.astimezone(zone).utcoffset()
    assert offset is not None, "every zone has an offset at every instant"
    return offset
