"""Which hours and days of drawn weeks have work in them, and what their clocks do."""

from collections.abc import Iterable, Sequence
from datetime import date, time
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.calendar import CrewCalendar
from api.web.clock_changes import ClockChange
from api.web.day_columns import DAY_MINUTES, OFFICE_HOURS, WorkingHours
from api.web.plan_drawing import Span
from finishing.rules.cold import LEAST_C
from scheduling.queries.visits import Block
from scheduling.wording import figure


def working_hours(blocks: Iterable[Block], calendar: CrewCalendar) -> WorkingHours:
    """Return the whole hours of the day between which crews work, each by its own clock."""
    hours = [row for crew in calendar.crews for row in crew.hours.all()]
    opens = [_minute(row.start) for row in hours]
    closes = [_minute(row.end) for row in hours]
    for block in blocks:
        start, end = (
            at.astimezone(ZoneInfo(block.crew.zone)) for at in (block.starts_at, block.ends_at)
        )
        opens.append(_minute(start.time()))
        closes.append(_minute(end.time()) if end.date() == start.date() else DAY_MINUTES)
    if not opens:
        return OFFICE_HOURS
    return WorkingHours(min(opens) // 60 * 60, -(-max(closes) // 60) * 60)


def idle_days(
    days: Sequence[date], blocks: Iterable[Block], calendar: CrewCalendar
) -> frozenset[date]:
    """Return the days on which no crew has hours and nothing is planned."""
    busy = {block.starts_at.astimezone(ZoneInfo(block.crew.zone)).date() for block in blocks}
    return frozenset(
        day
        for day in days
        if day not in busy and not any(calendar.works(crew, day) for crew in calendar.crews)
    )


def clock_words(change: ClockChange) -> str:
    """Say what the clocks do, and what becomes of the time between."""
    times = {"before": f"{change.before:%H:%M}", "after": f"{change.after:%H:%M}"}
    if change.forward.total_seconds() > 0:
        return _("Clocks forward from %(before)s to %(after)s: the time between is missing") % times
    return _("Clocks back from %(before)s to %(after)s: the time between comes twice") % times


def cold_words(house: str, spans: Iterable[Span]) -> str:
    """Say for how many hours a house is too cold for coats while there is work in it."""
    hours = round(sum((last - first).total_seconds() for first, last in spans) / 3600)
    return _("%(house)s is below %(least)s °C for %(hours)s hours.") % {
        "house": house,
        "least": figure(LEAST_C),
        "hours": hours,
    }


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute
