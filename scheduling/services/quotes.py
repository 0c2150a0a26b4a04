"""What a house that is not yet won would take, cost, and when the present plan could promise it."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from finishing.models import House, Quote, User
from finishing.rules.costs import PARTS, Cost, rounded, total_of
from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import Hardening
from finishing.services.quotes import house_of_quote
from finishing.services.rows import change_row
from scheduling.models import PlannedTask
from scheduling.queries.visits import blocks_of
from scheduling.services.engine import solve
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import histories_of, odds_in, planned_to_come
from scheduling.services.plan_cost import Pricing
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.task_details import task_details
from scheduling.services.time_sheet import TimeSheet
from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import keep_what_holds
from scheduling.solver.serialize import problem_to_json

LIMITS = Limits(seconds=6.0, seed=1, workers=1)
"""One house among others that stay: its first plan is nearly as good as any."""
HISTORIES = 200


class _AsIfNeverError(Exception):
    """Undoes what was only supposed."""


@dataclass(frozen=True)
class _Asked:
    """A quote as a house among those that are planned, all of whose work stays where it is."""

    house: House
    inputs: PlanInputs
    problem: Problem
    pricing: Pricing


def work_out_quote(*, quote: Quote, by: User | None, now: datetime) -> Quote:
    """Find out what a quote comes to, and keep that with it; see the two below."""
    keep_found(quote=quote, found=find_out(quote, by=by, now=now), now=now)
    return quote


def find_out(quote: Quote, *, by: User | None, now: datetime) -> dict[str, Any]:
    """Return what a quote comes to, and store nothing. Raises InputFaults where it can be no house
    by now."""
    asked = _asked(quote, by, now)
    return _found(asked, solve(asked.problem, LIMITS).outcome, now)


@transaction.atomic
def keep_found(*, quote: Quote, found: dict[str, Any], now: datetime) -> None:
    """Keep with a quote what was found out; raise StaleRowsError where it was changed, won or
    worked out anew meanwhile."""
    change_row(quote, version=quote.version, values={"found": found, "found_at": now})


def price_found(quote: Quote) -> int:
    """Return the cost that was last found with the quote's margin, in minor units."""
    share = 1 + Fraction(str(quote.margin_percent)) / 100
    return rounded(cost_found(quote).total * share)


def cost_found(quote: Quote) -> Cost:
    """Return the cost that was last found of a quote."""
    return Cost(**quote.found["cost"], unpriced=frozenset(quote.found["unpriced"]))


def _asked(quote: Quote, by: User | None, now: datetime) -> _Asked:
    with _supposed():
        today = now.astimezone(ZoneInfo(quote.company.zone)).date()
        house = house_of_quote(quote, handover_on=max(today, quote.opens_on), by=by, now=now)
        inputs = build_inputs(company=quote.company, now=now)
        planned = planned_to_come(quote.company, inputs)
        problem = _with_the_rest_in_place(inputs.problem, str(house.public_id), planned)
        pricing = Pricing(quote.company)  # by now, so that it knows the tape of the house's rooms
    return _Asked(house, inputs, problem, pricing)


@contextmanager
def _supposed() -> Iterator[None]:
    """Take back what is written in the block: nobody else ever sees it."""
    try:
        with transaction.atomic():
            yield
            raise _AsIfNeverError
    except _AsIfNeverError:
        pass


def _with_the_rest_in_place(problem: Problem, house: str, planned: Sequence[Placement]) -> Problem:
    """Return the problem with all planned work of other houses fixed; what of theirs has no place
    is left out, so that it takes no time before it is planned."""
    places = {place.task: place for place in planned}
    tasks = tuple(
        task if task.house == house or task.fixed else replace(task, fixed=places[task.id])
        for task in problem.tasks
        if task.house == house or task.fixed or task.id in places
    )
    there = {task.id for task in tasks}
    waits = tuple(w for w in problem.waits if w.before in there and w.after in there)
    return keep_what_holds(replace(problem, tasks=tasks, waits=waits)).problem


def _found(asked: _Asked, outcome: Outcome, now: datetime) -> dict[str, Any]:
    cost, minutes, material = _costs(asked, outcome)
    return {
        "person_minutes": minutes,
        "material": material,
        "cost": {part: getattr(cost, part) for part in PARTS},
        "unpriced": sorted(cost.unpriced),
        "holds": [hold.as_json() for hold in asked.inputs.holds if _is_of(hold.house, asked)],
        **_promise(asked, outcome, now),
    }


def _is_of(house: House, asked: _Asked) -> bool:
    return house.public_id == asked.house.public_id


def _costs(asked: _Asked, outcome: Outcome) -> tuple[Cost, int, dict[str, float]]:
    """Return what the house's visits cost, their person-minutes on site, and their material."""
    rows = list(_task_rows(asked, outcome))
    sheet = TimeSheet.of_problem(problem_to_json(replace(asked.problem, curves={}, waits=())))
    times = sheet.visits(blocks_of(rows))
    visits = [asked.pricing.visit(time) for time in times if _is_of(time.block.house, asked)]
    material = _material_of([row.details for row in rows if row.details])
    minutes = sum(visit.person_minutes for visit in visits)
    return total_of(visit.cost for visit in visits), minutes, material


def _material_of(tasks: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Return the kg of compound as it is put on, the kg of setting powder to buy for it, and the
    metres of tape."""
    used = [task["material"] for task in tasks]
    mixed = [task["material"] for task in tasks if task["hardening"] == Hardening.SETS]
    return {
        "kg": round(sum(one["kg"] for one in used), 1),
        "powder_kg": round(sum(one["powder_kg"] for one in mixed), 1),
        "tape_m": round(sum(one["tape_m"] for one in used), 1),
    }


def _task_rows(asked: _Asked, outcome: Outcome) -> Iterator[PlannedTask]:
    """Yield the plan's tasks as rows that are never stored: the others' too, for ways from there.
    Those of the house have details, for their material."""
    places = {place.task: place for place in outcome.placements}
    tasks = {task.id: task for task in asked.inputs.problem.tasks}
    for key, place in places.items():
        task, stage = tasks[key], asked.inputs.stages.get(key)
        mine = task.house == str(asked.house.public_id)
        yield PlannedTask(
            key=key,
            crew=asked.inputs.crew(place.crew),
            house=asked.inputs.houses[task.house],
            stage=stage.stage if stage else ODD_JOB,
            starts_at=asked.inputs.timeline.instant(place.start),
            ends_at=asked.inputs.timeline.instant(place.end),
            details=task_details(asked.inputs, place, task, {}, places) if mine else {},
        )


def _promise(asked: _Asked, outcome: Outcome, now: datetime) -> dict[str, Any]:
    """Return the day on which all of the house is done, with the odds of that day; None where not
    all of its work finds a place, or its air is too little known."""
    mine = {row.id: row for row in asked.inputs.handovers.values() if _owes(row.house, asked)}
    placed = {place.task: place for place in outcome.placements}
    ends = [t for key, t in handover_finishes(asked.problem, placed).items() if key in mine]
    work = [task for task in asked.problem.tasks if _owes(task.house, asked)]
    if not ends or any(task.id not in placed for task in work):
        return {"handover_on": None, "in_time": None, "holds_on": None}
    zone = ZoneInfo(asked.house.zone)
    last = asked.inputs.timeline.instant(max(ends)) - timedelta(microseconds=1)
    day = last.astimezone(zone).date()
    in_time, holds_on = _odds(asked, outcome, day, now)
    return {
        "handover_on": day.isoformat(),
        "in_time": in_time,
        "holds_on": holds_on.isoformat() if holds_on else None,
    }


def _owes(house: str, asked: _Asked) -> bool:
    return house == str(asked.house.public_id)


def _odds(
    asked: _Asked, outcome: Outcome, day: date, now: datetime
) -> tuple[float | None, date | None]:
    """Return how likely it is done by a day, and by which it is in 8 of 10."""
    due = asked.inputs.timeline.midnight_after(day, ZoneInfo(asked.house.zone))
    mine = {
        key: replace(row, due=due)
        for key, row in asked.inputs.handovers.items()
        if _owes(row.house, asked)
    }
    problem = replace(asked.problem, handovers=tuple(mine.values()))
    inputs = replace(asked.inputs, problem=problem, handovers=mine, held_handovers=())
    try:
        drawn = histories_of(inputs, outcome.placements, now=now, seed=1, count=HISTORIES)
        odds = odds_in(inputs, outcome.placements, drawn)
    except TooLittleAirError:
        return None, None
    row = next(row for row in odds.handovers if row.house == asked.house.name)
    return row.in_time, row.holds_on
