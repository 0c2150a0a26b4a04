"""Whether work may be pinned to places one after another, and if not, which would do."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from heapq import merge
from itertools import islice, pairwise

from scheduling.services.pin_rules import Stuck, all_but, first_stuck, what_counts
from scheduling.solver.compiled import compile_problem
from scheduling.solver.draft import Draft, Place
from scheduling.solver.nearest import place_at, places_near
from scheduling.solver.problem import Placement, Problem

LOOKS = 20
"""Places tried that a draft allows and ``verify`` may not; the first of them nearly always does."""

type Places = tuple[Placement, ...]


@dataclass(frozen=True)
class PinCheck:
    """stuck: the first place that will not do, None where all do. nearest: places for all of the
    work, as far apart as those asked for, that will do; with the same crew if there are any, as
    near to what was asked for as can be; empty where there are none."""

    stuck: Stuck | None = None
    nearest: Places = ()


def check_pins(problem: Problem, places: Sequence[Placement], pinned: Collection[str]) -> PinCheck:
    """Check places of tasks, one after another with the same crew; see ``first_stuck``."""
    stuck = first_stuck(problem, places, pinned)
    if stuck is None:
        return PinCheck()
    return PinCheck(stuck, _nearest(problem, tuple(places), pinned))


def _nearest(problem: Problem, places: Places, pinned: Collection[str]) -> Places:
    names = {place.task for place in places}
    compiled = compile_problem(what_counts(problem, names, set(pinned) - names))
    asked = places[0]
    others = [crew.id for crew in problem.crews if crew.id != asked.crew]
    for crews in ([asked.crew], others):
        drafts = ((all_but(compiled, names, crew), crew) for crew in crews)
        near = merge(
            *(_places_near(draft, places, crew) for draft, crew in drafts),
            key=lambda found: abs(found[0].start - asked.start),
        )
        for found in islice(near, LOOKS):
            if first_stuck(problem, found, pinned) is None:
                return found
    return ()


def _places_near(draft: Draft, places: Places, crew: str) -> Iterator[Places]:
    """Yield the crew's places for all of the work, the nearest first."""
    compiled = draft.compiled
    number, first = compiled.crew_number(crew), compiled.index[places[0].task]
    for place in places_near(draft, first, number, places[0].start):
        if found := _one_after_another(draft, places, place):
            yield tuple(
                Placement(asked.task, crew, at.start, at.end, asked.way)
                for asked, at in zip(places, found, strict=True)
            )


def _one_after_another(draft: Draft, places: Places, first: Place) -> list[Place]:
    """Return places from the first on, as far apart as those asked for; none if one cannot be."""
    compiled, found = draft.compiled, [first]
    draft.put(compiled.index[places[0].task], first)
    for before, after in pairwise(places):
        start = found[-1].end + after.start - before.end
        task = compiled.index[after.task]
        place = place_at(draft, task, first.crew, start, after.way)
        if place is None:
            break
        draft.put(task, place)
        found.append(place)
    for place_asked, _ in zip(places, found, strict=False):
        draft.take(compiled.index[place_asked.task])
    return found if len(found) == len(places) else []
