"""What holds a task back even where nothing else is planned: its own spans, its house, its crew's
hours."""

from collections.abc import Iterable, Iterator

from scheduling.solver.problem import (
    Crew,
    Placement,
    Problem,
    Span,
    Task,
    Window,
    last_batch_ticks,
    task_ticks,
)
from scheduling.solver.reason import Reason

Stretch = tuple[int, int]
"""First and last start tick of several in a row."""


def reasons_alone(problem: Problem, task: Task, place: Placement) -> Iterator[Reason]:
    """Yield what a placed task, its house and its crew's hours ask, whatever else is planned.

    Nothing of a fixed task, which may break all of it. Of a task that may be split only where it
    begins is looked at, not where its last piece ends.
    """
    if task.fixed is not None:
        return
    yield Reason("now", problem.now)
    house = next(house for house in problem.houses if house.id == task.house)
    release = max(task.release, house.release)
    if release > problem.now:
        yield Reason("release", release)
    length = 1 if task.split else place.end - place.start
    for code, spans, inside in (
        ("starts", task.starts, 1),
        ("area", task.open, length),
        ("access", house.access, length),
    ):
        since = _since(_starts_in(spans or (), inside), place.start)
        if since is not None:
            yield Reason(code, since)
    crew = next((crew for crew in problem.crews if crew.id == place.crew), None)
    if crew is not None:
        yield from _hours(problem, task, place, crew)


def _hours(problem: Problem, task: Task, place: Placement, crew: Crew) -> Iterator[Reason]:
    """Yield when the crew can begin on the day, told as the way from its base where that binds."""
    windows = [window for window in crew.windows if not task.skills & window.lacks]
    since = _since((_starts_at(problem, task, crew, window) for window in windows), place.start)
    if since is not None:
        opens = any(window.start + problem.setup_ticks == since for window in windows)
        yield Reason("window" if opens else "base", since)


def _starts_at(problem: Problem, task: Task, crew: Crew, window: Window) -> Stretch:
    """Return the first and last start in a window, the ways from base and back in its day."""
    there = back = 0
    if crew.base is not None:
        there = problem.travel.get((crew.base, task.house), 0)
        back = problem.travel.get((task.house, crew.base), 0)
    day = [other for other in crew.windows if other.day == window.day]
    length = task.split or task_ticks(task, crew.id, window.heads)
    here, gone = day[0].start + there, day[-1].end - back
    last = min(window.end - last_batch_ticks(length, task.batch_ticks), gone - length)
    return max(window.start, here) + problem.setup_ticks, last - problem.washup_ticks


def _starts_in(spans: Iterable[Span], length: int) -> list[Stretch]:
    """Return the starts at which so many ticks lie within one of the spans."""
    return [(span.start, span.end - length) for span in spans]


def _since(stretches: Iterable[Stretch], tick: int) -> int | None:
    """Return since when, without a break, a tick has been in some stretch; None if it is in none.

    A task one tick earlier than that would be outside all of them.
    """
    since = None
    for first, last in sorted(stretches, reverse=True):
        reached = tick if since is None else since - 1
        if first <= reached <= last:
            since = first
    return since
