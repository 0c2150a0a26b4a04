"""A quote as the house that it would be among those planned, and what is kept of it."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from finishing.models import House, Quote
from finishing.queries.houses import houses_for_planning
from finishing.rules.costs import Cost, rounded
from finishing.services.errors import InputFaults
from finishing.services.quotes import RESTS_ON, house_of_quote
from scheduling.services.inputs import build_inputs
from scheduling.services.odds import planned_to_come
from scheduling.services.plan_cost import Pricing
from scheduling.services.plan_inputs import PlanInputs, WhatIf
from scheduling.solver.problem import Placement, Problem, Task
from scheduling.solver.release import keep_what_holds


class NotWorkedOutError(Exception):
    """A quote was not worked out, and its page says why: that is no fault of the run."""


class NoHouseError(NotWorkedOutError):
    """A quote can be no house by now; the message says why."""


class QuoteChangedError(NotWorkedOutError):
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

    @property
    def id(self) -> str:
        """Its house as the problem names it."""
        return str(self.house.public_id)

    @property
    def tasks(self) -> tuple[Task, ...]:
        """The tasks of its house."""
        return tuple(task for task in self.problem.tasks if task.house == self.id)


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
    """Return the cost that was last found with the quote's margin, in minor units; None where that
    is of some of its work alone."""
    if is_of_some_work(quote):
        return None
    share = 1 + Fraction(str(quote.margin_percent)) / 100
    return rounded(cost_found(quote).total * share)


def is_of_some_work(quote: Quote) -> bool:
    """Return whether what was last found of a quote is of some of its work alone, as it was kept
    before all of it counted without a place."""
    return not quote.found["handover_on"] and "from_takeoff" not in quote.found


def is_from_takeoff(quote: Quote) -> bool:
    """Return whether what was last found of a quote is its work as taken off, since not all of that
    finds a place in the plan."""
    return bool(quote.found.get("from_takeoff"))


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
