"""Crews with hours that no work fills."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Crew
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.problem import TICK_MINUTES, Placement, Window

WORTH_NAMING = timedelta(hours=2)
"""Shorter gaps are what drying costs; an office does nothing about them."""


@dataclass(frozen=True)
class EmptyHours:
    """A crew's day with so many hours without work; ``whole``: it has none all day."""

    crew: Crew
    day: date
    hours: float
    whole: bool


def empty_hours(
    inputs: PlanInputs, placements: Sequence[Placement], *, days: int
) -> list[EmptyHours]:
    """Return the days, today's rest and those after it, on which a crew has long empty hours.

    Hours of its own count, extra ones at a price do not. Set-up, wash-up and the way between
    houses are no work here: all of a day's together are seldom worth naming.
    """
    return [
        found
        for crew in inputs.problem.crews
        if (row := inputs.crews.get(crew.id))
        for found in _of_crew(row, crew.windows, inputs, placements, days)
    ]


def _of_crew(
    crew: Crew,
    windows: Sequence[Window],
    inputs: PlanInputs,
    placements: Sequence[Placement],
    days: int,
) -> Iterator[EmptyHours]:
    zone, key = ZoneInfo(crew.zone), str(crew.public_id)
    today = inputs.now.astimezone(zone).date()
    mine = [place for place in placements if place.crew == key]
    paid: Counter[date] = Counter()
    busy: Counter[date] = Counter()
    for window in windows:
        day = inputs.timeline.instant(window.start).astimezone(zone).date()
        first = max(window.start, inputs.problem.now)
        if not window.price and 0 <= (day - today).days < days and first < window.end:
            paid[day] += window.end - first
            overlaps = (min(p.end, window.end) - max(p.start, first) for p in mine)
            busy[day] += sum(max(0, ticks) for ticks in overlaps)
    for day in sorted(paid):
        empty = timedelta(minutes=(paid[day] - busy[day]) * TICK_MINUTES)
        if empty >= WORTH_NAMING:
            yield EmptyHours(crew, day, empty / timedelta(hours=1), not busy[day])
