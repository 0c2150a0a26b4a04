"""Putting a run, or a single task, into a draft at the earliest place there is."""

from collections.abc import Sequence

from scheduling.solver.draft import FAR, NOWHERE, Draft, Place


def place_unit(draft: Draft, unit: Sequence[int], crews: Sequence[int] | None = None) -> bool:
    """Place the tasks of a unit one after another with the crew that ends them first.

    ``crews`` narrows the choice. Where no crew can take all of them, as many as can be are
    placed. Return whether all were.
    """
    todo = [task for task in unit if draft.crew[task] == NOWHERE]
    if not todo:
        return True
    best: list[Place] = []
    for crew in crews_for(draft, unit, crews):
        places = _places(draft, todo, crew, best[-1].end if len(best) == len(todo) else FAR)
        if len(places) > len(best) or (len(places) == len(todo) and places[-1].end < best[-1].end):
            best = places
    for task, place in zip(todo, best, strict=False):
        draft.put(task, place)
    return len(best) == len(todo)


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
    if place is None and any(
        draft.compiled.tasks[other].fixed
        for other in [draft.compiled.run_after[task], *_after(draft, task)]
        if other >= 0
    ):
        place = draft.earliest(task, crew, draft.bounds(task, heed_pins=False), before)
    return place


def _after(draft: Draft, task: int) -> list[int]:
    return [after for after, _ in draft.compiled.waits_from[task]]
