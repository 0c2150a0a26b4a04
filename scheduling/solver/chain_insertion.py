"""Putting tasks that maximum lags tie together into a draft at one go.

Tasks go to their earliest places in order. Where one comes too late after another, that other is
put later, and all after it anew: starts only ever rise, so this ends.
"""

from collections.abc import Sequence

from scheduling.solver.draft import FAR, NOWHERE, Draft, Place
from scheduling.solver.insertion import crews_for

TRIES_PER_TASK = 60
"""How often, per task of a chain, tasks are put later before it counts as not to be placed."""


def place_chain(draft: Draft, chain: Sequence[int], crews: Sequence[int] | None = None) -> bool:
    """Place all tasks of a chain (in an order that respects their waits), or none of them.

    ``crews`` narrows the choice for the first. Return whether all were placed.
    """
    todo = [task for task in chain if draft.crew[task] == NOWHERE]
    first_ends = dict.fromkeys(todo, 0)
    spot, tries = 0, TRIES_PER_TASK * len(todo)
    while 0 <= spot < len(todo) and tries:
        task = todo[spot]
        place = _place(draft, task, first_ends[task], None if spot else crews)
        if place is None:
            break
        late = _left_too_early(draft, task, place)
        if late is None:
            draft.put(task, place)
            spot += 1
            continue
        before, first_end = late
        if before not in first_ends:
            break
        first_ends[before] = first_end
        tries -= 1
        for other in todo[todo.index(before) : spot]:
            draft.take(other)
        spot = todo.index(before)
    if spot < len(todo):
        for task in todo[:spot]:
            draft.take(task)
    return spot == len(todo)


def _place(draft: Draft, task: int, first_end: int, crews: Sequence[int] | None) -> Place | None:
    """Return the place that ends first, of those in time after their lags if there are any."""
    for heed_pins in (True, False):
        bounds = draft.bounds(task, heed_pins)
        relaxed = bounds._replace(last_start=FAR, first_end=max(first_end, bounds.first_end))
        places = [
            place
            for crew in crews_for(draft, [task], crews)
            if (place := draft.earliest(task, crew, relaxed, FAR))
        ]
        if places:
            return min(places, key=lambda place: (place.start > bounds.last_start, place.end))
    return None


def _left_too_early(draft: Draft, task: int, place: Place) -> tuple[int, int] | None:
    """Return a task that would end too long before the place, and how early it may end."""
    for before, most, way in draft.compiled.most_into[task]:
        if draft.counts(before, way) and place.start > draft.end[before] + most:
            return before, place.start - most
    return None
