"""Putting a run, or a single task, into a draft at the earliest place there is."""

from collections.abc import Sequence

from scheduling.solver.draft import FAR, NOWHERE, Bounds, Draft, Place


def place_unit(draft: Draft, unit: Sequence[int], crews: Sequence[int] | None = None) -> bool:
    """Place the tasks of a unit one after another with the crew that ends them first.

    ``crews`` narrows the choice. Where no crew can take all of them, as many as can be are
    placed. Return whether all were.
    """
    todo = [task for task in unit if draft.crew[task] == NOWHERE]
    if not todo:
        return True
    if len(todo) == 1:
        return _place_one(draft, todo[0], crews_for(draft, unit, crews))
    best: list[Place] = []
    for crew in crews_for(draft, unit, crews):
        places = _places(draft, todo, crew, best[-1].end if len(best) == len(todo) else FAR)
        if len(places) > len(best) or (len(places) == len(todo) and places[-1].end < best[-1].end):
            best = places
    for task, place in zip(todo, best, strict=False):
        draft.put(task, place)
    return len(best) == len(todo)


def _place_one(draft: Draft, task: int, crews: Sequence[int]) -> bool:
    """Place a task with the crew that ends it first; what it waits for is worked out once."""
    place = _first_to_end(draft, task, crews, draft.bounds(task))
    if place is None and _holds_up_fixed(draft, task):
        place = _first_to_end(draft, task, crews, draft.bounds(task, heed_pins=False))
    if place is not None:
        draft.put(task, place)
    return place is not None


def _first_to_end(draft: Draft, task: int, crews: Sequence[int], bounds: Bounds) -> Place | None:
    best, before = None, FAR
    for crew in crews:
        place = draft.earliest(task, crew, bounds, before)
        if place is not None:
            best, before = place, place.end
    return best


def crews_for(draft: Draft, unit: Sequence[int], crews: Sequence[int] | None) -> Sequence[int]:
    """Return the crews to try; a run that has begun keeps its crew."""
    compiled = draft.compiled
    for task in compiled.units[compiled.unit_of[unit[0]]]:
        if draft.crew[task] != NOWHERE and compiled.tasks[task].fixed is None:
            return (draft.crew[task],)
    return compiled.crews[unit[0]] if crews is None else crews


def _places(draft: Draft, todo: list[int], crew: int, before: int) -> list[Place]:
    """Return the crew's places for the tasks in order, up to the first that finds none."""
    places: list[Place] = []
    for task in todo:
        place = _place(draft, task, crew, before)
        if place is None:
            break
        places.append(place)
        draft.put(task, place)
    for task in todo[: len(places)]:
        draft.take(task)
    return places


def _place(draft: Draft, task: int, crew: int, before: int) -> Place | None:
    """Return the earliest place for one task, in time for fixed tasks if that can be."""
    place = draft.earliest(task, crew, draft.bounds(task), before)
    if place is None and _holds_up_fixed(draft, task):
        place = draft.earliest(task, crew, draft.bounds(task, heed_pins=False), before)
    return place


def _holds_up_fixed(draft: Draft, task: int) -> bool:
    """Return whether a fixed task waits for this one."""
    compiled = draft.compiled
    after = compiled.run_after[task]
    others = [link.other for link in compiled.waits_from[task]] + ([after] if after >= 0 else [])
    return any(compiled.tasks[other].fixed for other in others)
