"""A dehumidifier at a late house as a thing to try: one that is free then, or one more."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from finishing.models import Company, House
from scheduling.services.dryer_plan import dryers_with_curves, free_dryers
from scheduling.services.inputs import PlanInputs
from scheduling.solver import stays as solver
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.stay_moves import Moves

MOST_STAYS = 3
"""How many stays are tried, those that shorten waits most first: each costs a solve."""


def stays_to_try(
    company: Company, house: House, inputs: PlanInputs, placements: Sequence[Placement]
) -> Iterator[tuple[Problem, dict[str, str | int]]]:
    """Yield the problem with a unit in the house, and what a sentence says of it: ``more`` is 1
    where all units of its kind stand elsewhere then."""
    rows = free_dryers(inputs)
    known = dryers_with_curves(company, inputs, placements, rows) if rows else []
    more = [replace(dryer, count=dryer.count + 1) for dryer in known]
    moves = Moves(inputs.problem, more, placements)
    there = tuple(one.stay for one in inputs.stays.kept)
    ends = {place.task: place.end for place in placements}
    for stay in islice(moves.new_in([str(house.public_id)], there), MOST_STAYS):
        unit = _free_unit(stay, there, ends)
        standing = replace(stay, unit=unit)
        instant = inputs.timeline.instant
        values: dict[str, str | int] = {
            "dryer": rows[stay.dryer].name,
            "from": instant(ends[stay.set_in]).isoformat(),
            "to": instant(ends[stay.collect_in]).isoformat(),
            "more": int(unit >= rows[stay.dryer].count),
        }
        yield solver.with_stays(inputs.problem, more, [standing]), values


def _free_unit(stay: solver.Stay, there: Sequence[solver.Stay], ends: dict[str, int]) -> int:
    """Return the first unit that stands nowhere else at the time."""
    busy = {
        other.unit
        for other in there
        if other.dryer == stay.dryer
        and ends[other.set_in] < ends[stay.collect_in]
        and ends[stay.set_in] < ends[other.collect_in]
    }
    return next(unit for unit in range(len(busy) + 1) if unit not in busy)
