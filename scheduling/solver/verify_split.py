"""Checks work that may be split over windows, tick by tick, without any of the planner's code."""

from collections.abc import Iterator

from scheduling.solver.outcome import Violation
from scheduling.solver.problem import TICK_MINUTES, Crew, Placement, Problem, Task, Window


def split_faults(problem: Problem, task: Task, crew: Crew, place: Placement) -> Iterator[Violation]:
    """Yield what is wrong with the place (not fixed) of a task with ``split`` on a crew that may
    do it: it fills stretches of the crew's windows, one after another.

    Codes: ``outside_window`` (it starts or ends where it cannot be worked on), ``split`` (too
    short a piece), ``duration`` (more or fewer ticks than the work takes).
    """
    stretches = list(_stretches(problem, task, crew, place))
    begun = [ticks for ticks in stretches if place.start in ticks]
    used = [ticks for ticks in stretches if ticks in begun or len(ticks) >= task.split]
    pieces = [ticks[ticks.index(place.start) :] if ticks in begun else ticks for ticks in used]
    if not begun or place.end - 1 not in pieces[-1]:
        yield Violation("outside_window", task.id)
        return
    pieces[-1] = pieces[-1][: pieces[-1].index(place.end - 1) + 1]
    if len(pieces) > 1 and min(map(len, pieces)) < task.split:
        yield Violation("split", task.id)
    paces = [_pace(task, crew, tick) for piece in pieces for tick in piece]
    minutes = task.person_minutes
    if task.minutes_by_crew is not None:
        minutes = task.minutes_by_crew[crew.id]
    if not sum(paces[:-1]) < max(1, minutes) <= sum(paces):
        yield Violation("duration", task.id)


def _stretches(problem: Problem, task: Task, crew: Crew, place: Placement) -> Iterator[list[int]]:
    """Yield the ticks in which a crew could work on a task, in unbroken stretches of one window
    each, those only that the place touches."""
    access = next(house.access for house in problem.houses if house.id == task.house)
    opening = [spans for spans in (access, task.open) if spans is not None]
    for window in crew.windows:
        if task.skills & window.lacks or not _touches(window.start, window.end, place):
            continue
        stretch: list[int] = []
        for tick in _hours(problem, task, crew, window):
            if not all(any(s.start <= tick < s.end for s in spans) for spans in opening):
                continue
            if stretch and stretch[-1] < tick - 1:
                yield from [stretch] if _touches(stretch[0], stretch[-1] + 1, place) else []
                stretch = []
            stretch.append(tick)
        if stretch and _touches(stretch[0], stretch[-1] + 1, place):
            yield stretch


def _touches(start: int, end: int, place: Placement) -> bool:
    return start < place.end and place.start < end


def _hours(problem: Problem, task: Task, crew: Crew, window: Window) -> range:
    """Return the ticks of a window in which the crew is ready for work at the task's house."""
    ready, stop = window.start, window.end
    if crew.base is not None:
        day = [other for other in crew.windows if other.day == window.day]
        there = problem.travel.get((crew.base, task.house), 0)
        back = problem.travel.get((task.house, crew.base), 0)
        ready = max(ready, min(w.start for w in day) + there)
        stop = min(stop, max(w.end for w in day) - back)
    return range(ready + problem.setup_ticks, stop - problem.washup_ticks)


def _pace(task: Task, crew: Crew, tick: int) -> int:
    """Return the minutes of work that the crew does in a tick."""
    heads = next(w.heads for w in crew.windows if w.start <= tick < w.end)
    return TICK_MINUTES * (1 if task.minutes_by_crew is not None else heads)
