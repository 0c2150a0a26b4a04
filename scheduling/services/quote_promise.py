"""By when a quote's house could be promised beside the present plan, and how likely that holds."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.services.odds import histories_of, odds_in
from scheduling.services.quotes import AskedHouse
from scheduling.services.source_histories import TooLittleAirError
from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Handover

HISTORIES = 200
NO_PROMISE = {"handover_on": None, "in_time": None, "holds_on": None}


def promise_in_plan(asked: AskedHouse, outcome: Outcome, now: datetime) -> dict[str, Any]:
    """Return the day on which all of the house is done, in a plan with a place for all its work,
    with the odds of that day: None where its air is too little known. A house with no work to do
    has no such day."""
    mine = _handovers(asked)
    placed = {place.task: place for place in outcome.placements}
    ends = [t for key, t in handover_finishes(asked.problem, placed).items() if key in mine]
    if not ends:
        return NO_PROMISE
    zone = ZoneInfo(asked.house.zone)
    last = asked.inputs.timeline.instant(max(ends)) - timedelta(microseconds=1)
    day = last.astimezone(zone).date()
    in_time, holds_on = _odds(asked, outcome, day, now)
    return {
        "handover_on": day.isoformat(),
        "in_time": in_time,
        "holds_on": holds_on.isoformat() if holds_on else None,
    }


def _handovers(asked: AskedHouse) -> dict[str, Handover]:
    rows = asked.inputs.handovers.items()
    return {key: row for key, row in rows if row.house == asked.id}


def _odds(
    asked: AskedHouse, outcome: Outcome, day: date, now: datetime
) -> tuple[float | None, date | None]:
    """Return how likely it is done by a day, and by which it is in 8 of 10."""
    due = asked.inputs.timeline.midnight_after(day, ZoneInfo(asked.house.zone))
    mine = {key: replace(row, due=due) for key, row in _handovers(asked).items()}
    problem = replace(asked.problem, handovers=tuple(mine.values()))
    inputs = replace(asked.inputs, problem=problem, handovers=mine, held_handovers=())
    try:
        drawn = histories_of(inputs, outcome.placements, now=now, seed=1, count=HISTORIES)
        odds = odds_in(inputs, outcome.placements, drawn)
    except TooLittleAirError:
        return None, None
    row = next(row for row in odds.handovers if row.house == asked.house.name)
    return row.in_time, row.holds_on
