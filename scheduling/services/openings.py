"""From when a house lets each stage start: its opening day and its readiness lines."""

from collections.abc import Iterable, Mapping
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from finishing.models import House, ReadinessLine
from finishing.rules.readiness import PUBLISHED_DAYS_AHEAD, needs
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.services.timeline import Timeline, local_instant

NEEDS_A_LINE: Mapping[str, Readiness] = {
    Stage.PRIMER_TOUCH_UP: Readiness.PRIMED,
    Stage.TRADES_TOUCH_UP: Readiness.TRADES_DONE,
}
"""Stages that come after work of others: without a line that says when, they cannot be planned."""

type Waiting = dict[tuple[Readiness, ...], list[str]]


class Openings:
    """Answers for the moment of planning.

    days_earlier: by house (primary key) the days by which it is tried to open, and each line
    that is owed to be there, earlier.
    """

    def __init__(
        self, now: datetime, timeline: Timeline, days_earlier: Mapping[int, int] | None = None
    ) -> None:
        self.now = now
        self.timeline = timeline
        self.days_earlier = days_earlier or {}

    def of(self, house: House, stages: Iterable[str]) -> tuple[dict[str, int], Waiting]:
        """Return the first tick of each stage that has one, and by the lines that have no day
        the stages that wait for them. What comes after a stage that waits, waits with it."""
        opens = self._opens(house)
        lines = {Readiness(line.item): line for line in house.readiness.all()}
        release: dict[str, int] = {}
        waiting: Waiting = {}
        for stage in stages:
            owed = [lines[item] for item in sorted(needs(stage)) if item in lines]
            still_open = [line for line in owed if not line.done]
            undated = tuple(Readiness(line.item) for line in still_open if not line.expected_on)
            if (must := NEEDS_A_LINE.get(stage)) and must not in lines:
                undated = (*undated, must)
            if undated or waiting:
                waiting.setdefault(undated or next(iter(waiting)), []).append(stage)
            else:
                release[stage] = max([opens, *self._expected(house, still_open)])
        return release, waiting

    def _opens(self, house: House) -> int:
        start = self.timeline.tick_after(self.now)
        if not house.opens_on:
            return start
        opens = local_instant(house.opens_on - self._earlier(house), time.min, ZoneInfo(house.zone))
        return max(start, self.timeline.tick_after(opens))

    def _expected(self, house: House, lines: Iterable[ReadinessLine]) -> Iterable[int]:
        """Yield when each open line is there: the morning after the day it is expected. However
        long ago it was promised, not on the days for which nothing may be published yet."""
        zone = ZoneInfo(house.zone)
        near = self.now.astimezone(zone).date() + timedelta(days=PUBLISHED_DAYS_AHEAD)
        for line in lines:
            expected = (line.expected_on or near) - self._earlier(house)
            yield self.timeline.midnight_after(max(expected, near), zone)

    def _earlier(self, house: House) -> timedelta:
        return timedelta(days=self.days_earlier.get(house.pk, 0))
