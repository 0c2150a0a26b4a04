"""Days on which a crew does not work but could: the day after a stretch of working days."""

from collections.abc import Collection, Iterator
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Crew
from scheduling.services.calendars import members_ever, members_present, skills_of
from scheduling.services.timeline import ONE_DAY, Timeline, local_instant
from scheduling.solver.problem import Window


def extra_days(
    crew: Crew, timeline: Timeline, holidays: Collection[date], until: int
) -> Iterator[tuple[date, tuple[Window, ...]]]:
    """Yield each such day before a tick, with the windows that the crew has the day before.

    Holidays, days off, days on which nobody is there or extra hours are noted are left out.
    """
    zone = ZoneInfo(crew.zone)
    hours = list(crew.hours.all())
    working = {row.weekday for row in hours}
    noted = {row.day for row in crew.extra_hours.all()}
    for number, day in enumerate(timeline.days(zone)):
        eve = (day - timedelta(days=1)).weekday()
        if day.weekday() in working or eve not in working or day in {*holidays, *noted}:
            continue
        present = members_present(crew, day)
        if not present or timeline.tick_after(local_instant(day + ONE_DAY, time.min, zone)) > until:
            continue
        spans = [
            timeline.span(local_instant(day, row.start, zone), local_instant(day, row.end, zone))
            for row in hours
            if row.weekday == eve
        ]
        lacks = skills_of(members_ever(crew)) - skills_of(present)
        windows = [Window(s.start, s.end, number, len(present), lacks) for s in spans if s]
        if windows:
            yield day, tuple(sorted(windows, key=lambda window: window.start))
