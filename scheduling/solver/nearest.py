"""Places for a task near the one it had."""

from collections.abc import Iterator
from heapq import merge
from itertools import islice, product

from scheduling.solver.draft import NOWHERE, Bounds, Draft, Place
from scheduling.solver.homes import Cost, Homes

FEW = 4
"""Places looked at per crew before and after the old start where not all are asked for."""

Choice = tuple[Cost, Place]


def place_at(draft: Draft, task: int, crew: int, start: int, way: str) -> Place | None:
    """Return the crew's place for a task at exactly this start, None where it is not allowed;
    left in the way of this name if that can be."""
    bounds = draft.bounds(task)
    if start < bounds.floor:
        return None
    as_named = bounds.left(draft.compiled.way_number(task, way))
    place = _at(draft, task, crew, start, as_named)
    return place or _at(draft, task, crew, start, bounds)


def home_place(draft: Draft, homes: Homes, task: int) -> Place | None:
    """Return the old place of a task if it still holds beside what is placed."""
    home = homes.places.get(task)
    if home is None or not _ready(draft, task):
        return None
    crew = homes.compiled.crew_number(home.crew)
    if crew not in _crews(draft, task):
        return None
    return place_at(draft, task, crew, home.start, home.way)


def choices_near(draft: Draft, homes: Homes, task: int, *, every: bool) -> list[Choice]:
    """Return places that hold beside what is placed, the smallest change first.

    every: all of them; otherwise the few earliest and the few on either side of the old start.
    A task that waits for one without a place has none. Fixed tasks that wait for it are heeded
    where that leaves a place.
    """
    if not _ready(draft, task):
        return []
    found: set[Place] = set()
    for heed_pins in (True, False):
        bounds = draft.bounds(task, heed_pins)
        each_way = [bounds.left(one.way) for one in bounds.exits] or [bounds]
        for crew, one_way in product(_crews(draft, task), each_way):
            some = (
                _all(draft, task, crew, one_way)
                if every
                else _some(draft, homes, task, crew, one_way)
            )
            found.update(some)
        if found:
            break
    priced = [(homes.cost(task, place), place) for place in found]
    return sorted(priced, key=lambda pair: (pair[0].visit is not None, pair[0].shift, pair[1][1:]))


def places_near(draft: Draft, task: int, crew: int, start: int) -> Iterator[Place]:
    """Yield the crew's places for a task beside what is placed, those that begin nearest to a
    start first; fixed tasks that wait for it are heeded."""
    if crew not in _crews(draft, task) or not _ready(draft, task):
        return
    bounds = draft.bounds(task)
    later = bounds._replace(floor=max(bounds.floor, start))
    yield from merge(
        _all(draft, task, crew, later),
        _all_before(draft, task, crew, bounds, start),
        key=lambda place: abs(place.start - start),
    )


def _ready(draft: Draft, task: int) -> bool:
    return all(draft.crew[before] != NOWHERE for before in draft.compiled.befores(task))


def _crews(draft: Draft, task: int) -> tuple[int, ...]:
    """Return the crews to try; a run that has a place keeps its crew."""
    compiled = draft.compiled
    for mate in compiled.units[compiled.unit_of[task]]:
        if mate != task and draft.crew[mate] != NOWHERE and compiled.tasks[mate].fixed is None:
            return (draft.crew[mate],) if draft.crew[mate] in compiled.crews[task] else ()
    return compiled.crews[task]


def _at(draft: Draft, task: int, crew: int, start: int, bounds: Bounds) -> Place | None:
    if crew >= draft.compiled.ghost:
        return None
    latest = min(bounds.latest, start + _longest(draft, task, crew))
    narrow = bounds._replace(floor=start, latest=latest)
    place = draft.earliest(task, crew, narrow, latest + 1)
    return place if place is not None and place.start == start else None


def _longest(draft: Draft, task: int, crew: int) -> int:
    choices = draft.compiled.choices[task][crew]
    return max(choices.durations, default=1) if choices else 1


def _all(draft: Draft, task: int, crew: int, bounds: Bounds) -> Iterator[Place]:
    """Yield the crew's places from the floor on, in the order of their starts."""
    while place := draft.earliest(task, crew, bounds, bounds.latest + 1):
        yield place
        bounds = bounds._replace(floor=place.start + 1)


def _some(draft: Draft, homes: Homes, task: int, crew: int, bounds: Bounds) -> Iterator[Place]:
    home = homes.places.get(task)
    yield from islice(_days(draft, task, crew, bounds), 1 if home else FEW)
    if home is None:
        return
    later = bounds._replace(floor=max(bounds.floor, home.start))
    yield from islice(_days(draft, task, crew, later), FEW)
    yield from _before(draft, task, crew, bounds, home.start)


def _days(draft: Draft, task: int, crew: int, bounds: Bounds) -> Iterator[Place]:
    """Yield the crew's earliest place in each of its windows from the floor on."""
    windows = draft.compiled.problem.crews[crew].windows
    while place := draft.earliest(task, crew, bounds, bounds.latest + 1):
        yield place
        bounds = bounds._replace(floor=windows[place.window].end)


def _before(draft: Draft, task: int, crew: int, bounds: Bounds, start: int) -> Iterator[Place]:
    """Yield the crew's latest places before a start, in the few windows before it."""
    for ticks in islice(_ticks_before(draft, task, crew, bounds, start), FEW):
        found = (_at(draft, task, crew, tick, bounds) for tick in ticks)
        yield from islice(filter(None, found), 1)


def _all_before(draft: Draft, task: int, crew: int, bounds: Bounds, start: int) -> Iterator[Place]:
    """Yield the crew's places before a start, the latest first."""
    for ticks in _ticks_before(draft, task, crew, bounds, start):
        yield from filter(None, (_at(draft, task, crew, tick, bounds) for tick in ticks))


def _ticks_before(
    draft: Draft, task: int, crew: int, bounds: Bounds, start: int
) -> Iterator[range]:
    """Yield for each stretch of starts before a start its ticks, all from the latest on."""
    choices = draft.compiled.choices[task][crew]
    if choices is None:
        return
    for low, high in zip(reversed(choices.lows), reversed(choices.highs), strict=True):
        if low < start and high >= bounds.floor:
            yield range(min(high, start - 1), max(low, bounds.floor) - 1, -1)
