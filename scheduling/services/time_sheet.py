"""Which hours of a plan's visits are paid for: when crews are there or on their way, how many."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from finishing.rules.costs import Hours, Way
from scheduling.queries.visits import Block
from scheduling.services.timeline import Timeline
from scheduling.services.travel import road_km
from scheduling.solver.plain import from_plain
from scheduling.solver.problem import TICK_MINUTES, Window


@dataclass(frozen=True)
class VisitTime:
    """A visit's paid time."""

    block: Block
    hours: tuple[Hours, ...]
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class TimeSheet:
    """What of a problem says who is paid when. windows: by crew; ways: minutes by two houses."""

    timeline: Timeline
    windows: Mapping[str, tuple[Window, ...]]
    way_minutes: Mapping[tuple[str, str], int]

    @classmethod
    def of_problem(cls, data: Mapping[str, Any]) -> "TimeSheet":
        """Read the ``PAID_TIME`` of a problem as its run keeps it; that of a run that has none yet
        knows nobody's hours."""
        if not data:
            return cls(Timeline(datetime.fromisoformat("2000-01-01T00:00+00:00"), 0), {}, {})
        timeline = Timeline(datetime.fromisoformat(data["origin"]), data["horizon"])
        windows = {
            crew["id"]: from_plain(tuple[Window, ...], crew["windows"]) for crew in data["crews"]
        }
        ways = {
            (way["from"], way["to"]): way["ticks"] * TICK_MINUTES for way in data.get("travel", ())
        }
        return cls(timeline, windows, ways)

    def visits(self, blocks: Iterable[Block]) -> Iterator[VisitTime]:
        """Yield the paid time of a plan's visits, in order of crews and time. A way is that from
        the crew's visit before on the same day; it starts and ends its days where it likes."""
        ordered = sorted(blocks, key=lambda block: (*_who(block), block.starts_at))
        for _crew, of_crew in groupby(ordered, key=_who):
            before: Block | None = None
            for block in of_crew:
                yield VisitTime(block, self._hours(block), self._ways(before, block))
                before = block

    def _hours(self, block: Block) -> tuple[Hours, ...]:
        found = tuple(self._within_windows(block))
        if found:
            return found
        minutes = sum(task.details.get("person_minutes", 0) for task in block.tasks)
        return (Hours(_day(block, block.starts_at), minutes, 1),)  # hours that are no more

    def _within_windows(self, block: Block) -> Iterator[Hours]:
        start = self.timeline.tick_before(block.starts_at)
        end = self.timeline.tick_after(block.ends_at)
        for window in self.windows.get(block.crew_id, ()):
            ticks = min(end, window.end) - max(start, window.start)
            if ticks > 0:
                day = _day(block, self.timeline.instant(window.start))
                yield Hours(day, ticks * TICK_MINUTES, window.heads, window.price > 0)

    def _ways(self, before: Block | None, block: Block) -> tuple[Way, ...]:
        if before is None or before.house == block.house:
            return ()
        day = _day(block, block.starts_at)
        if _day(before, before.ends_at) != day:
            return ()
        houses = str(before.house.public_id), str(block.house.public_id)
        heads = self._hours(block)[0].heads
        minutes = self.way_minutes.get(houses, 0)
        return (Way(day, minutes, heads, road_km(before.house, block.house, minutes)),)


def _who(block: Block) -> tuple[int, str]:
    return block.crew.pk, block.crew_more


def _day(block: Block, instant: datetime) -> date:
    return instant.astimezone(ZoneInfo(block.crew.zone)).date()
