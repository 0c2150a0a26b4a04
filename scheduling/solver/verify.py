"""Checks a plan against its Problem again, rule by rule, without any of the planner's code.

Fixed tasks are as they are: the rules about when and how long do not apply to them, and two of
them are not held against each other. Tasks that are not fixed must keep clear of them.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Violation
from scheduling.solver.problem import (
    Crew,
    Placement,
    Problem,
    Span,
    Task,
    Wait,
    Window,
    duration_ticks,
    last_batch_ticks,
)
from scheduling.solver.verify_split import split_faults


@dataclass(frozen=True, slots=True)
class Plan:
    """What the rules look at: the Problem by id, and one place for each known task placed."""

    problem: Problem
    tasks: dict[str, Task]
    crews: dict[str, Crew]
    places: dict[str, Placement]

    def free(self) -> Iterator[tuple[Task, Placement]]:
        """Yield the placed tasks that are not fixed."""
        for task in self.problem.tasks:
            if task.fixed is None and task.id in self.places:
                yield task, self.places[task.id]

    def window(self, place: Placement) -> Window | None:
        """Return the window of the crew that is open when the task starts, if any."""
        windows = self.crews[place.crew].windows if place.crew in self.crews else ()
        number = bisect_right([window.start for window in windows], place.start) - 1
        if number < 0 or windows[number].end <= place.start:
            return None
        return windows[number]


Rule = Callable[[Plan], Iterable[Violation]]


def verify(problem: Problem, outcome: Outcome) -> list[Violation]:
    """Return every rule of the Problem that the outcome breaks; empty when it is sound."""
    tasks = {task.id: task for task in problem.tasks}
    places = {p.task: p for p in reversed(outcome.placements) if p.task in tasks}
    plan = Plan(problem, tasks, {crew.id: crew for crew in problem.crews}, places)
    faults = list(_account(plan, outcome))
    for rule in RULES:
        faults.extend(rule(plan))
    if score_of(problem, places.values()) != outcome.score:
        faults.append(Violation("score"))
    return faults


def _account(plan: Plan, outcome: Outcome) -> Iterator[Violation]:
    """Every task has one place or one reason for having none."""
    placed = Counter(place.task for place in outcome.placements)
    unplaced = Counter(item.task for item in outcome.unplaced)
    for task in plan.tasks:
        if placed[task] + unplaced[task] == 0:
            yield Violation("missing", task)
    for task, count in (placed + unplaced).items():
        if task not in plan.tasks:
            yield Violation("unknown_task", task)
        elif count > 1:
            yield Violation("twice", task)


def _crew_and_skill(plan: Plan) -> Iterator[Violation]:
    for task, place in plan.free():
        crew = plan.crews.get(place.crew)
        if crew is None:
            yield Violation("crew_unknown", task.id, place.crew)
        elif not _may(crew, task):
            yield Violation("skill", task.id, place.crew)


def _window_and_length(plan: Plan) -> Iterator[Violation]:
    """Set-up and wash-up lie in the window too; the last batch begins in time before them."""
    problem = plan.problem
    for task, place in plan.free():
        if task.split:
            continue
        window = plan.window(place)
        if window is None:
            yield Violation("outside_window", task.id)
            continue
        if task.skills & window.lacks:
            yield Violation("skill", task.id, place.crew)
        length = duration_ticks(task.person_minutes, window.heads)
        if task.minutes_by_crew is not None:
            length = duration_ticks(task.minutes_by_crew.get(place.crew, 0), 1)
        if place.end - place.start != length:
            yield Violation("duration", task.id)
        ready, stop = window.start + problem.setup_ticks, window.end - problem.washup_ticks
        if place.start < ready or place.end > stop:
            yield Violation("outside_window", task.id)
        elif place.start + last_batch_ticks(length, task.batch_ticks) > stop:
            yield Violation("batch", task.id)


def _split_work(plan: Plan) -> Iterator[Violation]:
    for task, place in plan.free():
        crew = plan.crews.get(place.crew)
        if task.split and crew is not None and _may(crew, task):
            yield from split_faults(plan.problem, task, crew, place)


def _base(plan: Plan) -> Iterator[Violation]:
    """The ways from the crew's base and back lie between the day's first opening and last close."""
    problem = plan.problem
    for task, place in plan.free():
        window = plan.window(place)
        crew = plan.crews.get(place.crew)
        if task.split or crew is None or crew.base is None or window is None:
            continue
        day = [other for other in crew.windows if other.day == window.day]
        there = problem.travel.get((crew.base, task.house), 0) + problem.setup_ticks
        back = problem.washup_ticks + problem.travel.get((task.house, crew.base), 0)
        leaves, returns = min(w.start for w in day), max(w.end for w in day)
        if place.start < leaves + there or place.end + back > returns:
            yield Violation("base", task.id, crew.base)


def _bounds(plan: Plan) -> Iterator[Violation]:
    opened = {house.id: house.release for house in plan.problem.houses}
    for task, place in plan.free():
        if place.start < plan.problem.now:
            yield Violation("before_now", task.id)
        if place.start < task.release:
            yield Violation("release", task.id)
        if place.start < opened[task.house]:
            yield Violation("release", task.id, task.house)
        if place.end > plan.problem.horizon:
            yield Violation("after_horizon", task.id)


def _spans(plan: Plan) -> Iterator[Violation]:
    access = {house.id: house.access for house in plan.problem.houses}
    for task, place in plan.free():
        if task.starts is not None and not _covered(task.starts, place.start, place.start + 1):
            yield Violation("start", task.id)
        if task.split:
            continue
        if task.open is not None and not _covered(task.open, place.start, place.end):
            yield Violation("not_open", task.id)
        spans = access[task.house]
        if spans is not None and not _covered(spans, place.start, place.end):
            yield Violation("house_closed", task.id)


def _covered(spans: Iterable[Span], start: int, end: int) -> bool:
    return any(span.start <= start and end <= span.end for span in spans)


def _crew_overlap_and_travel(plan: Plan) -> Iterator[Violation]:
    by_crew: dict[str, list[Placement]] = defaultdict(list)
    for place in plan.places.values():
        by_crew[place.crew].append(place)
    for crew, places in by_crew.items():
        places.sort(key=lambda place: (place.start, place.end, place.task))
        reach = places[0]
        for place in places[1:]:
            both_fixed = plan.tasks[reach.task].fixed and plan.tasks[place.task].fixed
            if not both_fixed and place.start < reach.end:
                yield Violation("overlap_crew", place.task, reach.task)
            elif not both_fixed and _too_close(plan, crew, reach, place):
                yield Violation("travel", place.task, reach.task)
            reach = place if place.end >= reach.end else reach


def _too_close(plan: Plan, crew: str, one: Placement, two: Placement) -> bool:
    """Return whether there is no time between two houses in one window."""
    here, there = plan.tasks[one.task].house, plan.tasks[two.task].house
    if here == there or crew not in plan.crews:
        return False
    problem = plan.problem
    need = problem.washup_ticks + problem.travel.get((here, there), 0) + problem.setup_ticks
    same = any(w.start < one.end and two.start < w.end for w in plan.crews[crew].windows)
    return same and two.start - one.end < need


def _room_overlap(plan: Plan) -> Iterator[Violation]:
    by_room: dict[str, list[Placement]] = defaultdict(list)
    for place in plan.places.values():
        by_room[plan.tasks[place.task].room].append(place)
    for places in by_room.values():
        for one, two in combinations(places, 2):
            both_fixed = plan.tasks[one.task].fixed and plan.tasks[two.task].fixed
            if not both_fixed and one.start < two.end and two.start < one.end:
                yield Violation("room_overlap", two.task, one.task)


def _alone(plan: Plan) -> Iterator[Violation]:
    """While a task that shuts its house runs, no other task runs in the house."""
    for one in plan.places.values():
        if not plan.tasks[one.task].alone:
            continue
        for two in plan.places.values():
            tasks = plan.tasks[one.task], plan.tasks[two.task]
            if one is two or tasks[0].house != tasks[1].house or all(t.fixed for t in tasks):
                continue
            if one.start < two.end and two.start < one.end:
                yield Violation("alone", two.task, one.task)


def _shared(plan: Plan) -> Iterator[Violation]:
    """No more crews are in a house, and no more tasks have one kind of equipment, than may."""
    for house in plan.problem.houses:
        inside = [p for p in plan.places.values() if plan.tasks[p.task].house == house.id]
        if house.crews_inside is not None:
            yield from _too_many(plan, "crews_inside", house.id, house.crews_inside, inside)
    for item in plan.problem.equipment:
        users = [p for p in plan.places.values() if item.id in plan.tasks[p.task].needs]
        kept = _kept_after(plan, item.id)
        yield from _too_many(plan, "equipment", item.id, item.capacity, users + kept)


def _kept_after(plan: Plan, item: str) -> list[Placement]:
    """Return for each task that leaves equipment behind a place from its end on, until the last
    of the waits that hold it is over."""
    until: dict[str, int] = {}
    for wait in plan.problem.waits:
        if item in wait.holds and wait.before in plan.places and _counts(plan, wait):
            ready = plan.problem.curves[wait.curve].ready(plan.places[wait.before].end)
            until[wait.before] = max(ready, until.get(wait.before, ready))
    kept = ((plan.places[task], tick) for task, tick in until.items())
    return [replace(place, start=place.end, end=tick) for place, tick in kept if tick > place.end]


def _counts(plan: Plan, wait: Wait) -> bool:
    """Return whether a wait counts; it does as long as nobody knows how its task is left."""
    before = plan.places.get(wait.before)
    return wait.way is None or before is None or before.way == wait.way


def _too_many(
    plan: Plan, code: str, name: str, most: int, places: list[Placement]
) -> Iterator[Violation]:
    """Name a task that is not fixed wherever more than so many run at once."""
    for place in places:
        running = [other for other in places if other.start <= place.start < other.end]
        free = [other.task for other in running if not plan.tasks[other.task].fixed]
        if len(running) > most and free:
            yield Violation(code, free[0], name)


def _grade(plan: Plan) -> Iterator[Violation]:
    """In a room nothing goes over something softer."""
    by_room: dict[str, list[Task]] = defaultdict(list)
    for task in plan.problem.tasks:
        if task.grade is not None and task.id in plan.places:
            by_room[task.room].append(task)
    for tasks in by_room.values():
        tasks.sort(key=lambda task: plan.places[task.id].start)
        for under, over in combinations(tasks, 2):
            both_fixed = under.fixed and over.fixed
            if not both_fixed and (over.grade or 0) > (under.grade or 0):
                yield Violation("grade", over.id, under.id)


def _ways(plan: Plan) -> Iterator[Violation]:
    """A task is left in one of its ways, where it has any."""
    ways: dict[str, set[str]] = defaultdict(set)
    for wait in plan.problem.waits:
        if wait.way is not None:
            ways[wait.before].add(wait.way)
    for task, place in plan.free():
        if place.way not in (ways.get(task.id) or {""}):
            yield Violation("way", task.id, place.way)


def _waits(plan: Plan) -> Iterator[Violation]:
    for wait in plan.problem.waits:
        if plan.tasks[wait.after].fixed or wait.after not in plan.places:
            continue
        if not _counts(plan, wait):
            continue
        before = plan.places.get(wait.before)
        curve = plan.problem.curves[wait.curve]
        if before is None or plan.places[wait.after].start < curve.ready(before.end):
            yield Violation("wait", wait.after, wait.before)
        elif wait.most is not None and plan.places[wait.after].start > before.end + wait.most:
            yield Violation("lag", wait.after, wait.before)


def _runs(plan: Plan) -> Iterator[Violation]:
    runs: dict[str, list[Task]] = defaultdict(list)
    for task in plan.problem.tasks:
        if task.run is not None:
            runs[task.run].append(task)
    for tasks in runs.values():
        yield from _run_crew(plan, tasks)
        yield from _run_order(plan, tasks)


def _run_crew(plan: Plan, tasks: list[Task]) -> Iterator[Violation]:
    """The free tasks share one crew: that of the last fixed one, if it may do them all."""
    free = [task for task in tasks if task.fixed is None]
    keepers = [task for task in tasks if task.fixed and task.fixed.crew in plan.crews][-1:]
    last_fixed = [task for task in tasks if task.fixed][-1:]
    crew = None
    if keepers and keepers == last_fixed and keepers[0].fixed:
        held = plan.crews[keepers[0].fixed.crew]
        if all(_may(held, task) for task in free):
            crew = held.id
    for task in free:
        if task.id in plan.places:
            crew = crew or plan.places[task.id].crew
            if plan.places[task.id].crew != crew:
                yield Violation("run_crew", task.id)


def _may(crew: Crew, task: Task) -> bool:
    named = [ids for ids in (task.crews, task.minutes_by_crew) if ids is not None]
    return task.skills <= crew.skills and all(crew.id in ids for ids in named)


def _run_order(plan: Plan, tasks: list[Task]) -> Iterator[Violation]:
    for one, two in pairwise(tasks):
        if two.fixed or two.id not in plan.places:
            continue
        if one.id not in plan.places or plan.places[two.id].start < plan.places[one.id].end:
            yield Violation("run_order", two.id, one.id)


def _dust_beside_wet(plan: Plan) -> Iterator[Violation]:
    placed = [task for task in plan.problem.tasks if task.id in plan.places and task.air_space]
    wets = [task for task in placed if task.wet_curve]
    for dusty in (task for task in placed if task.dusty):
        for wet in wets:
            apart = wet.air_space != dusty.air_space or wet.id == dusty.id
            if apart or (wet.fixed and dusty.fixed) or not wet.wet_curve:
                continue
            dust, coat = plan.places[dusty.id], plan.places[wet.id]
            dry = max(coat.end, plan.problem.curves[wet.wet_curve].ready(coat.end))
            if dust.end > coat.start and dust.start < dry:
                yield Violation("dust_beside_wet", dusty.id, wet.id)


def _fixed_stay(plan: Plan) -> Iterator[Violation]:
    for task in plan.problem.tasks:
        if task.fixed and task.id in plan.places and plan.places[task.id] != task.fixed:
            yield Violation("fixed_moved", task.id)


RULES: tuple[Rule, ...] = (
    _fixed_stay,
    _crew_and_skill,
    _window_and_length,
    _split_work,
    _base,
    _bounds,
    _spans,
    _crew_overlap_and_travel,
    _room_overlap,
    _alone,
    _shared,
    _grade,
    _ways,
    _waits,
    _runs,
    _dust_beside_wet,
)
