"""Local days side by side, drawn wide where there is work and narrow where there is none. Pure."""

from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import accumulate, pairwise
from zoneinfo import ZoneInfo

from api.web.scales import day_begins

DAY_MINUTES = 24 * 60
NIGHT_SHARE = 0.2
"""Of a day with work, the part of its width that is left to the hours in which nobody works."""
IDLE_SHARE = 0.4
"""Width of a day without work over that of one with work."""


@dataclass(frozen=True)
class WorkingHours:
    """The minutes of the local day between which all work lies."""

    opens: int
    closes: int


OFFICE_HOURS = WorkingHours(7 * 60, 17 * 60)
"""Where there is no work to go by."""


class DayColumns:
    """Instants onto pixels: a column for each of some days on end, on the clock of a zone.

    Inside working hours, and inside the rest of a day, pixels go by elapsed time: an hour that the
    clocks leave out takes no room, one that comes twice takes twice as much. Days that are
    ``idle`` are narrow, and are not divided.
    """

    def __init__(
        self,
        days: Sequence[date],
        zone: ZoneInfo,
        *,
        left: float,
        right: float,
        hours: WorkingHours = OFFICE_HOURS,
        idle: Collection[date] = (),
    ) -> None:
        self.days, self.zone, self.hours = tuple(days), zone, hours
        self._idle = frozenset(idle)
        shares = [IDLE_SHARE if day in idle else 1.0 for day in days]
        a_share = (right - left) / sum(shares)
        self.edges = tuple(left + a_share * sum_ for sum_ in accumulate(shares, initial=0.0))
        self.first = day_begins(days[0], zone)
        self.last = day_begins(days[-1] + timedelta(days=1), zone)
        knots = {self.first: left, self.last: right}
        for day, (x, end) in zip(days, pairwise(self.edges), strict=True):
            knots[day_begins(day, zone)] = x
            if day not in idle:
                knots.update(_working_edges(day, zone, hours, x, end - x))
        self._knots = sorted(knots)
        self._px = [knots[instant] for instant in self._knots]

    def px(self, instant: datetime) -> float:
        """Return where an instant lies, at the nearer end for one that lies outside."""
        place = bisect_left(self._knots, instant)
        if place in {0, len(self._knots)}:
            return self._px[min(place, len(self._px) - 1)]
        one, other = self._knots[place - 1 : place + 1]
        low, high = self._px[place - 1 : place + 1]
        return low + (high - low) * ((instant - one) / (other - one))

    def knots(self) -> str:
        """Return the pixels between which time goes evenly, each with its instant in seconds since
        1970: "168:1772409600 180:1772434800"."""
        pairs = zip(self._px, self._knots, strict=True)
        return " ".join(f"{x:g}:{int(at.timestamp())}" for x, at in pairs)

    def is_idle(self, number: int) -> bool:
        """Return whether a day, by its place, is drawn narrow."""
        return self.days[number] in self._idle

    def covers(self, instant: datetime) -> bool:
        return self.first <= instant < self.last


def _working_edges(
    day: date, zone: ZoneInfo, hours: WorkingHours, x: float, width: float
) -> dict[datetime, float]:
    """Return the instants between which a day's work lies, with their pixels."""
    idle = DAY_MINUTES - (hours.closes - hours.opens)
    if not idle:
        return {}
    a_minute = NIGHT_SHARE * width / idle
    edges = {
        hours.opens: x + a_minute * hours.opens,
        hours.closes: x + width - a_minute * (DAY_MINUTES - hours.closes),
    }
    return {
        local_minute(day, minute, zone): px
        for minute, px in edges.items()
        if 0 < minute < DAY_MINUTES
    }


def local_minute(day: date, minute: int, zone: ZoneInfo) -> datetime:
    """Return the UTC instant at which the clock shows a minute of a day."""
    return datetime.combine(day, time(minute // 60, minute % 60), zone).astimezone(UTC)
