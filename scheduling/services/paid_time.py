"""What of a crew's paid time a plan uses."""

from collections.abc import Iterable
from itertools import pairwise

from scheduling.solver.change import WorkingTime
from scheduling.solver.problem import Crew, Placement, Problem


def travel_ticks(problem: Problem, placements: Iterable[Placement]) -> int:
    """Return the ticks that crews are on their way between houses, bases included."""
    house = {task.id: task.house for task in problem.tasks}
    time = WorkingTime(problem.crews)
    days: dict[tuple[str, int], list[str]] = {}
    for place in sorted(placements, key=lambda place: place.start):
        day = place.crew, time.day(place.crew, place.start)
        days.setdefault(day, []).append(house[place.task])
    bases = {crew.id: [crew.base] if crew.base is not None else [] for crew in problem.crews}
    ways = (
        pair
        for (crew, _), stops in days.items()
        for pair in pairwise([*bases.get(crew, []), *stops, *bases.get(crew, [])])
    )
    return sum(problem.travel.get(way, 0) for way in ways if way[0] != way[1])


def extra_ticks(problem: Problem, placements: Iterable[Placement]) -> int:
    """Return the ticks that crews work in extra hours, overtime and Saturdays among them."""
    priced = {crew.id: [w for w in crew.windows if w.price] for crew in problem.crews}
    return sum(
        max(0, min(window.end, place.end) - max(window.start, place.start))
        for place in placements
        for window in priced.get(place.crew, ())  # none of a crew that gets no new work
    )


def unused_ticks(problem: Problem, placements: Iterable[Placement]) -> int:
    """Return paid ticks without work, set-up, wash-up or travel, summed over crews.

    Counted from ``problem.now`` to each crew's last task: a crew that waits whole days for a coat
    is unused on them, which the idle time of the score, within days, does not see. Extra hours in
    which it does nothing are not paid.
    """
    by_crew: dict[str, list[Placement]] = {}
    for place in sorted(placements, key=lambda place: place.start):
        by_crew.setdefault(place.crew, []).append(place)
    return sum(
        _unused(problem, crew, by_crew[crew.id]) for crew in problem.crews if crew.id in by_crew
    )


def _unused(problem: Problem, crew: Crew, places: list[Placement]) -> int:
    last = max(place.end for place in places)
    paid = sum(
        max(0, min(window.end, last) - max(window.start, problem.now))
        for window in crew.windows
        if not window.price or any(w.start < window.end and window.start < w.end for w in places)
    )
    work = sum(place.end - place.start for place in places)
    house = {task.id: task.house for task in problem.tasks}
    around = problem.setup_ticks + problem.washup_ticks
    used = work + around - problem.washup_ticks  # the last wash-up comes after ``last``
    for one, two in pairwise(places):
        here, there = house[one.task], house[two.task]
        together = any(w.start < one.end and two.start < w.end for w in crew.windows)
        if not together:
            used += around
        elif here != there:
            used += around + problem.travel.get((here, there), 0)
    return max(0, paid - used)
