"""What a house that is not yet won would take, cost, and when the present plan could promise it."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from finishing.models import House, Quote
from finishing.queries.houses import houses_for_planning
from finishing.rules.costs import PARTS, Cost, rounded, total_of
from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import Hardening
from finishing.services.errors import InputFaults
from finishing.services.quotes import RESTS_ON, house_of_quote
from scheduling.models import PlannedTask
from scheduling.queries.visits import blocks_of
from scheduling.services.holds import Hold
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import histories_of, odds_in, planned_to_come
from scheduling.services.plan_cost import Pricing
from scheduling.services.plan_inputs import PlanInputs, WhatIf
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.task_details import task_details
from scheduling.services.time_sheet import TimeSheet
from scheduling.services.unplanned import holds_of
from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import keep_what_holds
from scheduling.solver.serialize import problem_to_json

HISTORIES = 200


class NoHouseError(Exception):
    """A quote can be no house by now; the message says why."""


class QuoteChangedError(Exception):
    """A quote was changed, or won, while it was worked out: what was found is of another one."""


class _AsIfNeverError(Exception):
    """Undoes what was only supposed."""


@dataclass(frozen=True)
class AskedHouse:
    """A quote as a house among those that are planned, all of whose work stays where it is."""

    house: House
    inputs: PlanInputs
    problem: Problem
    pricing: Pricing


def asked_house(quote: Quote, *, now: datetime) -> AskedHouse:
    """Return a quote as the house that it would be, and store nothing. Raises NoHouseError.

    Rows are supposed for no longer than it takes to read them: nobody else writes meanwhile.
    """
    company = quote.company
    try:
        with _supposed():
            house = supposed_house(quote, now)
            pricing = Pricing(company)  # by now, so that it knows the tape of the house's rooms
    except InputFaults as error:
        raise NoHouseError(" ".join(fault.text for fault in error.faults)) from None
    inputs = build_inputs(company=company, now=now, what_if=WhatIf(more_houses=(house,)))
    planned = planned_to_come(company, inputs)
    problem = _with_the_rest_in_place(inputs.problem, str(house.public_id), planned)
    return AskedHouse(house, inputs, problem, pricing)


def supposed_house(quote: Quote, now: datetime) -> House:
    """Store the house that a quote would be, in a transaction that the caller undoes, and return it
    with all that planning reads of it."""
    today = now.astimezone(ZoneInfo(quote.company.zone)).date()
    made = house_of_quote(quote, handover_on=max(today, quote.opens_on), by=None, now=now)
    return houses_for_planning(quote.company).get(pk=made.pk)


def found_of(asked: AskedHouse, outcome: Outcome, *, now: datetime) -> dict[str, Any]:
    """Return what a quote comes to, of a plan for its house beside the others."""
    cost, minutes, material = _costs(asked, outcome)
    return {
        "person_minutes": minutes,
        "material": material,
        "cost": {part: getattr(cost, part) for part in PARTS},
        "unpriced": sorted(cost.unpriced),
        "holds": [hold.as_json() for hold in _holds(asked, outcome)],
        **_promise(asked, outcome, now),
    }


def _holds(asked: AskedHouse, outcome: Outcome) -> list[Hold]:
    """Return what keeps the house's work from being planned: before the search, and in it."""
    mine = {task.id for task in asked.problem.tasks if _owes(task.house, asked)}
    unplaced = holds_of(asked.inputs, (row for row in outcome.unplaced if row.task in mine))
    return [hold for hold in (*asked.inputs.holds, *unplaced) if _is_of(hold.house, asked)]


@transaction.atomic
def keep_found(*, quote: Quote, found: dict[str, Any], now: datetime) -> None:
    """Keep with a quote what was found out of it as it is in this object. It is no edit, which
    would be in the way of somebody's who changes the quote meanwhile: the version stays. Raises
    QuoteChangedError where it was won, or what the finding rests on is otherwise by now."""
    stored = Quote.objects.select_for_update().get(pk=quote.pk)
    is_otherwise = any(getattr(stored, name) != getattr(quote, name) for name in RESTS_ON)
    if is_otherwise or stored.won_id is not None:
        raise QuoteChangedError("it was changed or won meanwhile: work it out again")
    Quote.objects.filter(pk=quote.pk).update(found=found, found_at=now)


def price_found(quote: Quote) -> int | None:
    """Return the cost that was last found with the quote's margin, in minor units; None where not
    all of its work finds a place: that is the cost of some of it."""
    if not quote.found["handover_on"]:
        return None
    share = 1 + Fraction(str(quote.margin_percent)) / 100
    return rounded(cost_found(quote).total * share)


def cost_found(quote: Quote) -> Cost:
    """Return the cost that was last found of a quote."""
    return Cost(**quote.found["cost"], unpriced=frozenset(quote.found["unpriced"]))


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


def _is_of(house: House, asked: AskedHouse) -> bool:
    return house.public_id == asked.house.public_id


def _costs(asked: AskedHouse, outcome: Outcome) -> tuple[Cost, int, dict[str, float]]:
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


def _task_rows(asked: AskedHouse, outcome: Outcome) -> Iterator[PlannedTask]:
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


def _promise(asked: AskedHouse, outcome: Outcome, now: datetime) -> dict[str, Any]:
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


def _owes(house: str, asked: AskedHouse) -> bool:
    return house == str(asked.house.public_id)


def _odds(
    asked: AskedHouse, outcome: Outcome, day: date, now: datetime
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
