"""How far a crew gets in its working hours."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from scheduling.services.timeline import Timeline
from scheduling.solver.change import WorkingTime
from scheduling.solver.problem import TICK_MINUTES, Crew, Window


class WorkingHours:
    """Crews' hours on a timeline, for instants."""

    def __init__(self, crews: Iterable[Crew], timeline: Timeline) -> None:
        crews = list(crews)
        self._windows: Mapping[str, tuple[Window, ...]] = {crew.id: crew.windows for crew in crews}
        self._time = WorkingTime(crews)
        self._timeline = timeline

    def between(self, crew: str, start: datetime, end: datetime) -> timedelta:
        """Return how much of the time between two instants a crew works; all, of one that is
        unknown or has no hours then (any more: it was there, and has gone home ill)."""
        first, last = self._timeline.tick_before(start), self._timeline.tick_after(end)
        ticks = self._time.between(crew, first, last) or last - first
        return timedelta(minutes=TICK_MINUTES * ticks)

    def end_of(self, crew: str, start: datetime, work: timedelta) -> datetime:
        """Return when a crew that has ``work`` before it at ``start`` is through with it."""
        minutes = -(-work // timedelta(minutes=1))
        tick = worked_until(
            self._windows.get(crew, ()),
            self._timeline.tick_after(start),
            -(-minutes // TICK_MINUTES),
        )
        return self._timeline.instant(tick)


def worked_until(windows: Iterable[Window], start: int, ticks: int) -> int:
    """Return the tick at which so many ticks have been worked in windows (rising) from ``start``.

    Past the last window every tick counts.
    """
    at = start
    for window in windows:
        if ticks <= 0:
            return at
        if window.end > at:
            at = max(at, window.start)
            worked = min(ticks, window.end - at)
            at, ticks = at + worked, ticks - worked
    return at + max(0, ticks)
