"""The exact Score of a plan, worked out plainly from the Problem."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise

from scheduling.solver.outcome import Score
from scheduling.solver.pieces import stretches, worked
from scheduling.solver.problem import TICK_MINUTES, Crew, Placement, Problem, Task

TICKS_PER_DAY = 24 * 60 // TICK_MINUTES


def score_of(problem: Problem, placements: Iterable[Placement]) -> Score:
    """Return the score of placements that may leave tasks out.

    A task left out counts towards its handover as if it ended at the horizon.
    """
    placed = {placement.task: placement for placement in placements}
    finishes = handover_finishes(problem, placed)
    late = sum(
        handover.weight * TICK_MINUTES * max(0, finishes[handover.id] - handover.due)
        for handover in problem.handovers
        if handover.id in finishes
    )
    tasks = {task.id: task for task in problem.tasks}
    pieces = [piece for place in placed.values() for piece in _pieces(problem, tasks, place)]
    visits = problem.another_crew * _crews_beyond_the_first(tasks, placed.values())
    idle = 0
    for crew, works in _crew_days(problem, pieces):
        visits += _visits(problem, tasks, works)
        idle += sum(_idle_ticks(problem, tasks, crew, one, two) for one, two in pairwise(works))
    extra = _extra(problem, pieces)
    finish = _finish(problem, placed, finishes)
    return Score(late + extra, visits, idle * TICK_MINUTES, finish, extra)


def _pieces(problem: Problem, tasks: dict[str, Task], place: Placement) -> list[Placement]:
    """Return the unbroken pieces in which a task is worked: one, unless it may be split."""
    task = tasks[place.task]
    crews = (crew for crew in problem.crews if task.split and crew.id == place.crew)
    if (crew := next(crews, None)) is None:
        return [place]
    access = next(house.access for house in problem.houses if house.id == task.house)
    usable = stretches(task, access, crew, problem)
    parts = worked(task.split, usable, place.start, place.end)
    return [Placement(place.task, place.crew, start, end) for start, end, _ in parts] or [place]


def _extra(problem: Problem, pieces: Iterable[Placement]) -> int:
    """Return the price of the windows worked in."""
    priced = {crew.id: [w for w in crew.windows if w.price] for crew in problem.crews}
    return sum(
        window.price * max(0, min(window.end, piece.end) - max(window.start, piece.start))
        for piece in pieces
        for window in priced.get(piece.crew, ())
    )


def _crews_beyond_the_first(tasks: dict[str, Task], places: Iterable[Placement]) -> int:
    crews: dict[str, set[str]] = defaultdict(set)
    for place in places:
        crews[tasks[place.task].house].add(place.crew)
    return sum(len(inside) - 1 for inside in crews.values())


def handover_finishes(problem: Problem, placed: dict[str, Placement]) -> dict[str, int]:
    """Return by handover the tick at which its last task is done; one without tasks is absent."""
    finishes: dict[str, int] = {}
    for task in problem.tasks:
        if task.handover is not None:
            end = placed[task.id].end if task.id in placed else problem.horizon
            done = problem.curves[task.done_curve].ready(end) if task.done_curve else end
            finishes[task.handover] = max(done, finishes.get(task.handover, done))
    return finishes


def day_of(crew: Crew | None, tick: int) -> int:
    """Return the crew's working day at a tick: that of the last window begun by then.

    Before its first window that one's day counts; without windows days are cut from the origin.
    """
    if crew is None or not crew.windows:
        return tick // TICKS_PER_DAY
    number = bisect_right([window.start for window in crew.windows], tick) - 1
    return crew.windows[max(0, number)].day


def _finish(problem: Problem, placed: dict[str, Placement], finishes: dict[str, int]) -> int:
    if problem.handovers:
        return sum(finishes.values())
    return sum(
        placed[task.id].end if task.id in placed else problem.horizon for task in problem.tasks
    )


def _crew_days(
    problem: Problem, placements: Iterable[Placement]
) -> list[tuple[Crew | None, list[Placement]]]:
    """Group placements by crew and working day, each group in the order of its starts."""
    crews = {crew.id: crew for crew in problem.crews}
    groups: dict[tuple[str, int], list[Placement]] = defaultdict(list)
    for placement in sorted(placements, key=lambda work: (work.start, work.end, work.task)):
        day = day_of(crews.get(placement.crew), placement.start)
        groups[placement.crew, day].append(placement)
    return [(crews.get(crew), works) for (crew, _), works in groups.items()]


def _visits(problem: Problem, tasks: dict[str, Task], works: Sequence[Placement]) -> int:
    """Return a crew's visits on one day; a house with too little work counts twice."""
    work: dict[str, int] = defaultdict(int)
    for placement in works:
        work[tasks[placement.task].house] += placement.end - placement.start
    return sum(2 if ticks < problem.worthwhile_ticks else 1 for ticks in work.values())


def _idle_ticks(
    problem: Problem, tasks: dict[str, Task], crew: Crew | None, one: Placement, two: Placement
) -> int:
    """Return the paid ticks between two tasks in a row that nothing accounts for."""
    windows = crew.windows if crew else ()
    paid = sum(
        max(0, min(window.end, two.start) - max(window.start, one.end)) for window in windows
    )
    around = problem.setup_ticks + problem.washup_ticks
    if not any(window.start < one.end and two.start < window.end for window in windows):
        return max(0, paid - around)
    here, there = tasks[one.task].house, tasks[two.task].house
    used = 0 if here == there else around + problem.travel.get((here, there), 0)
    return max(0, paid - used)
