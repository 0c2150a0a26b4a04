"""A unit at a late house as a thing to try: one that is free then, or one more."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from finishing.models import Company, House
from scheduling.services.dryer_curves import dryers_with_curves
from scheduling.services.dryer_plan import free_dryers
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver import stays as solver
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.stay_moves import Moves
from scheduling.solver.stays import Fleet, Stay

MOST_STAYS = 3
"""How many stays are tried, those that shorten waits most first: each costs a solve."""

type Taken = tuple[Stay, int, int]
"""A stay and the ticks from and to which its unit is taken, moving it included."""


def stays_to_try(
    company: Company, house: House, inputs: PlanInputs, placements: Sequence[Placement]
) -> Iterator[tuple[Problem, dict[str, str | int]]]:
    """Yield the problem with a unit in the house, beside those that the plan has there, and what a
    sentence says of it: ``more`` is 1 where all units of its kind stand elsewhere then."""
    rows = free_dryers(inputs)
    known = dryers_with_curves(company, inputs, rows) if rows else Fleet()
    more = replace(known, dryers=tuple(replace(row, count=row.count + 1) for row in known.dryers))
    places = {place.task: place for place in placements}
    taken = [*_taken(inputs, places)]
    moves = Moves(inputs.problem, more, placements)
    for (new,) in islice(moves.new_in([str(house.public_id)]), MOST_STAYS):
        since, until = places[new.set_in], places[new.collect_in]
        stay = replace(new, unit=_free_unit(new.dryer, (since.start, until.end), taken))
        values: dict[str, str | int] = {
            "dryer": rows[stay.dryer].name,
            "from": inputs.timeline.instant(since.end).isoformat(),
            "to": inputs.timeline.instant(until.end).isoformat(),
            "more": int(stay.unit >= rows[stay.dryer].count),
        }
        yield _in_turn(solver.with_stays(inputs.problem, more, [stay]), stay, since, taken), values


def _taken(inputs: PlanInputs, places: dict[str, Placement]) -> Iterator[Taken]:
    """Yield when units are taken; those that stand already, from the beginning."""
    for one in inputs.stays.all:
        if one.stay.collect_in in places:
            since = places[one.stay.set_in].start if one.stay.set_in in places else 0
            yield one.stay, since, places[one.stay.collect_in].end


def _free_unit(dryer: str, span: tuple[int, int], taken: Iterable[Taken]) -> int:
    """Return the first unit that is taken nowhere else at the time."""
    first, last = span
    busy = {
        stay.unit
        for stay, since, until in taken
        if stay.dryer == dryer and since < last and first < until
    }
    return next(unit for unit in range(len(busy) + 1) if unit not in busy)


def _in_turn(problem: Problem, stay: Stay, down: Placement, taken: Iterable[Taken]) -> Problem:
    """Return the problem in which the same unit is moved in the order that the plan has."""
    waits = (
        solver.moved_on(other, stay) if until <= down.start else solver.moved_on(stay, other)
        for other, _, until in taken
        if solver.same_unit(other, stay)
    )
    return replace(problem, waits=(*problem.waits, *waits))
