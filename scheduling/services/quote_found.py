"""What is found out of a quote, as it is kept with it."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from finishing.rules.costs import PARTS
from scheduling.services.holds import Hold
from scheduling.services.quote_figures import figures_in_plan, figures_of_takeoff
from scheduling.services.quote_promise import NO_PROMISE, promise_in_plan
from scheduling.services.quotes import AskedHouse
from scheduling.services.unplanned import holds_of
from scheduling.solver.outcome import Outcome


def found_of(asked: AskedHouse, outcome: Outcome, *, now: datetime) -> dict[str, Any]:
    """Return what a quote comes to, of a plan for its house beside the others. Hours, material and
    cost are always those of all its work: where some of that finds no place, as taken off. Nothing
    is promised then."""
    holds = _holds(asked, outcome)
    figures = figures_of_takeoff(asked) if holds else figures_in_plan(asked, outcome)
    return {
        "from_takeoff": bool(holds),
        "person_minutes": figures.person_minutes,
        "material": figures.material,
        "cost": {part: getattr(figures.cost, part) for part in PARTS},
        "unpriced": sorted(figures.cost.unpriced),
        "holds": [hold.as_json() for hold in holds],
        **(NO_PROMISE if holds else promise_in_plan(asked, outcome, now)),
    }


def _holds(asked: AskedHouse, outcome: Outcome) -> list[Hold]:
    """Return what keeps the house's work from being planned: before the search, and in it. There
    is no promise yet from which to count back when its heat has to be on."""
    mine = {task.id for task in asked.tasks}
    unplaced = holds_of(asked.inputs, (row for row in outcome.unplaced if row.task in mine))
    before = (hold for hold in asked.inputs.holds if str(hold.house.public_id) == asked.id)
    return [*before, *(replace(hold, heat_on_by=None) for hold in unplaced)]
