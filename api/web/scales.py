"""Scales and ticks of charts: values and instants onto pixels. Pure; no page, no clock."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

MOST_POINTS = 200
"""A line is drawn through at most so many: more than a small chart has pixels to tell apart."""
_DAY_STEPS = (1, 2, 3, 4, 7, 14, 28)
_A_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Scale:
    """A straight mapping of ``low`` to ``high`` onto pixels; what lies beyond is drawn at the
    nearer end. ``low`` is below ``high``."""

    low: float
    high: float
    low_px: float
    high_px: float

    def px(self, value: float) -> float:
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.low_px + share * (self.high_px - self.low_px)


@dataclass(frozen=True)
class TimeScale:
    """Instants (aware) onto pixels by elapsed time: a local day of 23 hours is narrower."""

    first: datetime
    last: datetime
    low_px: float
    high_px: float

    def px(self, instant: datetime) -> float:
        span = (self.last - self.first).total_seconds()
        hours = Scale(0.0, span, self.low_px, self.high_px)
        return hours.px((instant - self.first).total_seconds())

    def covers(self, instant: datetime) -> bool:
        return self.first <= instant <= self.last


def local_midnights(first: datetime, last: datetime, zone: ZoneInfo) -> Iterator[datetime]:
    """Yield the UTC instants from ``first`` to ``last`` at which a local day begins.

    Where the clocks change at midnight a day begins with its first hour that is.
    """
    day = first.astimezone(zone).date()
    while (begins := day_begins(day, zone)) <= last:
        if begins >= first:
            yield begins
        day += _A_DAY


def day_begins(day: date, zone: ZoneInfo) -> datetime:
    """Return the UTC instant at which a local day begins."""
    return datetime.combine(day, time.min, zone).astimezone(UTC)


def day_ticks(
    first: datetime, last: datetime, zone: ZoneInfo, *, most: int
) -> list[tuple[datetime, date]]:
    """Return local midnights with their days, every day or every few, so that there are at most
    ``most`` where one in 28 days is few enough."""
    midnights = list(local_midnights(first, last, zone))
    steps = (step for step in _DAY_STEPS if -(-len(midnights) // step) <= most)
    kept = midnights[:: next(steps, _DAY_STEPS[-1])]
    return [(instant, instant.astimezone(zone).date()) for instant in kept]


def round_ticks(low: float, high: float, *, most: int = 5) -> list[float]:
    """Return values at equal steps of 1, 2 or 5 times a power of ten that enclose ``low`` to
    ``high`` (one step where these are the same): at least two, at most ``most`` + 2."""
    span = max(high - low, 1e-9 * max(abs(low), abs(high), 1.0))
    step = _round_up(span / max(most - 1, 1)) if high > low else 1.0
    first, last = math.floor(low / step), math.ceil(high / step)
    last = max(last, first + 1)
    return [number * step for number in range(first, last + 1)]


def thinned[T](
    points: Sequence[tuple[T, float]], *, most: int = MOST_POINTS
) -> list[tuple[T, float]]:
    """Return at most ``most`` points in order: the first and the last, and of each stretch
    between them the lowest and the highest, so that no peak is lost."""
    if len(points) <= most:
        return list(points)
    stretches = (most - 2) // 2
    inner = len(points) - 2
    kept = [points[0]]
    for number in range(stretches):
        first, last = (1 + inner * n // stretches for n in (number, number + 1))
        ends = (f(range(first, last), key=lambda at: points[at][1]) for f in (min, max))
        kept += [points[at] for at in sorted(set(ends))]
    return [*kept, points[-1]]


def spread(places: Sequence[float], *, apart: float, high: float) -> list[float]:
    """Return rising places moved as far right as it takes to be ``apart``, then back so that none
    is past ``high``; labels that would cover each other are put there."""
    moved: list[float] = []
    for place in places:
        moved.append(max(place, moved[-1] + apart) if moved else place)
    limit = high
    for number in reversed(range(len(moved))):
        moved[number] = min(moved[number], limit)
        limit = moved[number] - apart
    return moved


def _round_up(step: float) -> float:
    """Return the least of 1, 2, 5 and 10 times a power of ten that is not below a step."""
    power = 10.0 ** math.floor(math.log10(step))
    return next((n * power for n in (1.0, 2.0, 5.0) if n * power >= step), 10.0 * power)
