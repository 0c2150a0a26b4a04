"""Why each task is not earlier: the rule that binds it, as a code with values."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduling.solver.problem import Placement, Problem, Span, Task
from scheduling.solver.shared import full_spans


@dataclass(frozen=True, slots=True)
class Reason:
    """What holds a task back. ``other`` is the task behind it, ``tick`` from when it lets go.

    Codes: a wait's own reason (``order``, ``set``, ``rule``, ``air``), ``run`` (the task before
    it in its run), ``crew`` (its crew is at ``other``), ``travel`` (wash-up, way and set-up after
    ``other``), ``room`` (``other`` is in the room), ``equipment`` (others have all of what it
    works with, or of what stays with what it leaves; ``other`` gives one back), ``dust``
    (``other`` is dusty, or wet in the same air), ``release``, ``now``, ``window`` (the crew is not
    at work before), ``closed`` (allowed starts, opening or access begin then), ``fixed`` (it was
    put there), ``free`` (nothing holds it there: it could be earlier).
    """

    code: str
    tick: int
    other: str = ""


PLAINEST_LAST = (
    "now",
    "release",
    "closed",
    "window",
    "crew",
    "travel",
    "room",
    "equipment",
    "dust",
    "run",
)
"""Codes in rising order of how much they tell, for rules that let go at the same tick; the
waits come after all of these."""


def binding_reasons(problem: Problem, placements: Iterable[Placement]) -> dict[str, Reason]:
    """Return by placed task the rule that lets go of it last, for a plan that verify accepts."""
    places = {placement.task: placement for placement in placements}
    found = found_reasons(problem, places.values())
    return {
        task.id: binding_reason(task, places[task.id], found[task.id])
        for task in problem.tasks
        if task.id in places
    }


def found_reasons(problem: Problem, placements: Iterable[Placement]) -> dict[str, list[Reason]]:
    """Return by placed task every rule that has a say in when it may start."""
    places = {placement.task: placement for placement in placements}
    tasks = {task.id: task for task in problem.tasks}
    found: dict[str, list[Reason]] = defaultdict(list)
    for task_id, place in places.items():
        found[task_id] += _own_limits(problem, tasks[task_id], place)
    for task_id, reason in (
        *_waits(problem, places),
        *_runs(problem, places),
        *_crews(problem, tasks, places),
        *_rooms(tasks, places),
        *_equipment(problem, tasks, places),
        *_air(problem, tasks, places),
    ):
        found[task_id].append(reason)
    return found


def binding_reason(task: Task, place: Placement, found: Iterable[Reason]) -> Reason:
    """Return the rule that lets go of a placed task last; ``free`` where it did so earlier."""
    if task.fixed is not None:
        return Reason("fixed", place.start)
    last = latest_reason(found, place.start)
    return last if last.tick == place.start else Reason("free", last.tick, last.other)


def latest_reason(found: Iterable[Reason], tick: int) -> Reason:
    """Return the rule that lets go last, but not after a tick; the most telling of several."""
    return max((r for r in found if r.tick <= tick), key=lambda r: (r.tick, _weight(r)))


def _weight(reason: Reason) -> int:
    if reason.code in PLAINEST_LAST:
        return PLAINEST_LAST.index(reason.code)
    return len(PLAINEST_LAST)


def _own_limits(problem: Problem, task: Task, place: Placement) -> Iterator[Reason]:
    """Yield what the task, its house and its crew's hours ask, whatever else is planned."""
    yield Reason("now", problem.now)
    if task.release > problem.now:
        yield Reason("release", task.release)
    house = next(house for house in problem.houses if house.id == task.house)
    if house.release > problem.now:
        yield Reason("release", house.release)
    for spans in (task.starts, task.open, house.access):
        yield from (Reason("closed", span.start) for span in _last_open(spans, place.start))
    windows = next((crew.windows for crew in problem.crews if crew.id == place.crew), ())
    number = bisect_right([window.start for window in windows], place.start) - 1
    if number >= 0:
        yield Reason("window", windows[number].start + problem.setup_ticks)
        leaves = min(w.start for w in windows if w.day == windows[number].day)
        bases = (crew.base for crew in problem.crews if crew.id == place.crew)
        way = sum(problem.travel.get((base, task.house), 0) for base in bases if base)
        yield Reason("window", leaves + way + problem.setup_ticks)


def _last_open(spans: tuple[Span, ...] | None, tick: int) -> list[Span]:
    return sorted((s for s in spans or () if s.start <= tick), key=lambda s: s.start)[-1:]


Found = Iterator[tuple[str, Reason]]


def _waits(problem: Problem, places: dict[str, Placement]) -> Found:
    for wait in problem.waits:
        if wait.before in places and wait.way in {None, places[wait.before].way}:
            ready = problem.curves[wait.curve].ready(places[wait.before].end)
            yield wait.after, Reason(wait.reason, ready, wait.before)


def _runs(problem: Problem, places: dict[str, Placement]) -> Found:
    last: dict[str, str] = {}
    for task in problem.tasks:
        if task.run is not None:
            before = last.get(task.run)
            if before in places:
                yield task.id, Reason("run", places[before].end, before)
            last[task.run] = task.id


def _crews(problem: Problem, tasks: dict[str, Task], places: dict[str, Placement]) -> Found:
    """Yield for each task the one its crew does before it, with the way between houses."""
    last: dict[str, Placement] = {}
    for place in sorted(places.values(), key=lambda p: (p.start, p.end)):
        before = last.get(place.crew)
        if before is not None:
            here, there = tasks[before.task].house, tasks[place.task].house
            yield place.task, Reason("crew", before.end, before.task)
            if here != there:
                way = problem.travel.get((here, there), 0)
                way += problem.washup_ticks + problem.setup_ticks
                yield place.task, Reason("travel", before.end + way, before.task)
        last[place.crew] = place


def _rooms(tasks: dict[str, Task], places: dict[str, Placement]) -> Found:
    last: dict[str, Placement] = {}
    for place in sorted(places.values(), key=lambda p: (p.start, p.end)):
        task = tasks[place.task]
        for key in (task.room, f"{task.house} shut"):
            if key in last:
                yield place.task, Reason("room", last[key].end, last[key].task)
        last[task.room] = place
        if task.alone:
            last[f"{task.house} shut"] = place


def _equipment(problem: Problem, tasks: dict[str, Task], places: dict[str, Placement]) -> Found:
    """Yield for each use of equipment when others had all of it for the last time before."""
    for item in problem.equipment:
        uses = _uses(problem, item.id, tasks, places)
        for task, start, _ in uses:
            others = [use for use in uses if use[0] != task]
            full = full_spans(item.capacity, (use[1:] for use in others))
            back = max((end for _, end in full if end <= start), default=None)
            if back is not None:
                giver = next(other for other, _, end in others if end == back)
                yield task, Reason("equipment", places[task].start - (start - back), giver)


def _uses(
    problem: Problem, item: str, tasks: dict[str, Task], places: dict[str, Placement]
) -> list[tuple[str, int, int]]:
    """Return (task, from, to) of those who work with equipment or leave it with what they did."""
    uses = [(p.task, p.start, p.end) for p in places.values() if item in tasks[p.task].needs]
    until: dict[str, int] = {}
    for wait in problem.waits:
        place = places.get(wait.before)
        if place and item in wait.holds and wait.way in {None, place.way}:
            ready = problem.curves[wait.curve].ready(place.end)
            until[place.task] = max(place.end, ready, until.get(place.task, 0))
    return uses + [(task, places[task].end, end) for task, end in until.items()]


def _air(problem: Problem, tasks: dict[str, Task], places: dict[str, Placement]) -> Found:
    """Yield for dusty tasks when wet air before them is dry, for wet ones when dust has ended."""
    spaces: dict[str, list[Placement]] = defaultdict(list)
    for place in places.values():
        space = tasks[place.task].air_space
        if space is not None:
            spaces[space].append(place)
    for group in spaces.values():
        for dust in (place for place in group if tasks[place.task].dusty):
            for coat in group:
                curve = tasks[coat.task].wet_curve
                if curve is None or coat.task == dust.task:
                    continue
                if coat.start < dust.start:
                    dry = max(coat.end, problem.curves[curve].ready(coat.end))
                    yield dust.task, Reason("dust", dry, coat.task)
                else:
                    yield coat.task, Reason("dust", dust.end, dust.task)
