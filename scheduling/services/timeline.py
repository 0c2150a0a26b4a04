"""Instants, local days and hours as the solver's ticks."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.solver.problem import TICK_MINUTES, Span

TICKS_PER_HOUR = 60 // TICK_MINUTES
_TICK = timedelta(minutes=TICK_MINUTES)
ONE_DAY = timedelta(days=1)
FIRST_DAY, LAST_DAY = date(1000, 1, 1), date(9000, 1, 1)
"""Days beyond are taken as these: dates end soon after, in UTC before they do in some zones."""


def local_instant(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """Return a local clock time as a UTC instant; an hour that occurs twice is the first."""
    day = max(day, FIRST_DAY)
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


LOOK_BACK = timedelta(days=14)
"""Before now, for coats that still dry and for the 48 hours of warmth before a coat."""
LOOK_AHEAD = timedelta(weeks=8)
BEYOND_LAST_HANDOVER = timedelta(weeks=3)
LONGEST = timedelta(weeks=26)


@dataclass(frozen=True)
class Timeline:
    """Ticks of five minutes from ``origin`` (UTC, on the hour) to ``horizon`` ticks later."""

    origin: datetime
    horizon: int

    def tick_after(self, instant: datetime) -> int:
        """Return the first tick at or after an instant."""
        return -((self.origin - instant) // _TICK)

    def tick_before(self, instant: datetime) -> int:
        """Return the last tick at or before an instant."""
        return (instant - self.origin) // _TICK

    def instant(self, tick: int) -> datetime:
        """Return the UTC instant of a tick."""
        return self.origin + tick * _TICK

    def span(self, start: datetime, end: datetime) -> Span | None:
        """Return the ticks wholly inside ``[start, end)``, or None where there are none."""
        first = max(0, self.tick_after(start))
        last = min(self.horizon, self.tick_before(end))
        return Span(first, last) if first < last else None

    def days(self, zone: ZoneInfo) -> Iterator[date]:
        """Yield each local day that the timeline touches."""
        day = self.origin.astimezone(zone).date()
        last = self.instant(self.horizon).astimezone(zone).date()
        while day <= last:
            yield day
            day += ONE_DAY

    def midnight_after(self, day: date, zone: ZoneInfo) -> int:
        """Return the tick at which a local day is over."""
        return self.tick_after(local_instant(min(day, LAST_DAY) + ONE_DAY, time.min, zone))


def without(spans: list[Span], closed: list[Span]) -> list[Span]:
    """Return what is left of sorted spans when ``closed`` (in any order) is taken out."""
    for gap in sorted(closed, key=lambda span: span.start):
        left = []
        for span in spans:
            if gap.end <= span.start or gap.start >= span.end:
                left.append(span)
                continue
            if span.start < gap.start:
                left.append(Span(span.start, gap.start))
            if gap.end < span.end:
                left.append(Span(gap.end, span.end))
        spans = left
    return spans


def planning_timeline(
    handovers: Iterable[date], now: datetime, since: datetime | None = None
) -> Timeline:
    """Return ticks from two weeks before now, or from ``since`` where that is earlier, to eight
    after it, or past the last handover."""
    first = max(min(since or now, now - LOOK_BACK), now - LONGEST)
    origin = first.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    last = min(max(handovers, default=now.date()), LAST_DAY)
    wanted = datetime.combine(last, time.min, UTC) + BEYOND_LAST_HANDOVER
    end = min(max(now + LOOK_AHEAD, wanted), now + LONGEST)
    hours = (end - origin) // timedelta(hours=1)
    return Timeline(origin, hours * TICKS_PER_HOUR)
