"""What holds a task back because of where other tasks are."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from scheduling.solver.problem import Placement, Problem, Task, Wait
from scheduling.solver.reason import Reason
from scheduling.solver.shared import full_spans

Found = Iterator[tuple[str, Reason]]

Use = tuple[str, int, int]
"""A task that has one of something, from a tick up to another."""


@dataclass(frozen=True)
class Placed:
    """A problem's tasks with their places, each by id, and the places by start."""

    problem: Problem
    places: dict[str, Placement]

    @cached_property
    def tasks(self) -> dict[str, Task]:
        return {task.id: task for task in self.problem.tasks}

    @cached_property
    def waits(self) -> list[Wait]:
        """The waits that count, their earlier task being left as it is."""
        return [wait for wait in self.problem.waits if self._counts(wait)]

    def _counts(self, wait: Wait) -> bool:
        before = self.places.get(wait.before)
        return before is not None and wait.way in {None, before.way}

    @cached_property
    def by_start(self) -> list[Placement]:
        return sorted(self.places.values(), key=lambda p: (p.start, p.end, p.task))

    @cached_property
    def by_house(self) -> dict[str, list[Placement]]:
        groups: dict[str, list[Placement]] = defaultdict(list)
        for place in self.by_start:
            groups[self.tasks[place.task].house].append(place)
        return groups


def reasons_among(placed: Placed) -> Found:
    """Yield (task, reason) for every rule by which one placed task holds back another."""
    for rule in (_waits, _lags, _runs, _crews, _rooms, _alone, _full_houses, _equipment, _air):
        yield from rule(placed)


def _waits(placed: Placed) -> Found:
    for wait in placed.waits:
        if wait.before in placed.places:
            ready = placed.problem.curves[wait.curve].ready(placed.places[wait.before].end)
            yield wait.after, Reason(wait.reason, ready, wait.before)


def _lags(placed: Placed) -> Found:
    """A maximum lag holds back the earlier of its two tasks."""
    for wait in placed.waits:
        before, after = placed.places.get(wait.before), placed.places.get(wait.after)
        if before and after and wait.most is not None and not placed.tasks[wait.after].fixed:
            latest = before.start - (before.end + wait.most - after.start)
            yield wait.before, Reason("lag", latest, wait.after)


def _runs(placed: Placed) -> Found:
    last: dict[str, str] = {}
    for task in placed.problem.tasks:
        if task.run is not None:
            before = placed.places.get(last.get(task.run, ""))
            if before:
                yield task.id, Reason("run", before.end, before.task)
            last[task.run] = task.id


def _crews(placed: Placed) -> Found:
    """Yield what its crew does before a task, and the way between houses if they lie in one
    window."""
    windows = {crew.id: crew.windows for crew in placed.problem.crews}
    last: dict[str, Placement] = {}
    for place in placed.by_start:
        before = last.get(place.crew)
        if before is not None:
            yield place.task, Reason("crew", before.end, before.task)
            spans = windows.get(place.crew, ())
            if any(w.start < before.end and place.start <= w.end for w in spans):
                yield from _way(placed, before, place)
        if before is None or place.end >= before.end:
            last[place.crew] = place


def _way(placed: Placed, before: Placement, place: Placement) -> Found:
    problem = placed.problem
    here, there = placed.tasks[before.task].house, placed.tasks[place.task].house
    if here != there:
        way = problem.washup_ticks + problem.travel.get((here, there), 0) + problem.setup_ticks
        if way:
            yield place.task, Reason("travel", before.end + way, before.task)


def _rooms(placed: Placed) -> Found:
    by_room: dict[str, list[Placement]] = defaultdict(list)
    for place in placed.by_start:
        by_room[placed.tasks[place.task].room].append(place)
    for places in by_room.values():
        yield from _one_at_a_time("room", places, places)


def _alone(placed: Placed) -> Found:
    """A task that has the house to itself holds back all others there, and they hold it back."""
    for places in placed.by_house.values():
        alone = [place for place in places if placed.tasks[place.task].alone]
        if alone:
            yield from _one_at_a_time("alone", places, alone)
            yield from _one_at_a_time("alone", alone, places)


def _one_at_a_time(code: str, later: Iterable[Placement], earlier: Iterable[Placement]) -> Found:
    """Yield the last of the earlier places that ends before each of the later ones starts."""
    by_end = sorted(earlier, key=lambda place: place.end)
    ends = [place.end for place in by_end]
    for place in later:
        number = bisect_right(ends, place.start) - 1
        if number >= 0:
            yield place.task, Reason(code, ends[number], by_end[number].task)


def _full_houses(placed: Placed) -> Found:
    for house in placed.problem.houses:
        if house.crews_inside is not None:
            uses = uses_of_house(placed, house.id)
            yield from _full(placed, "full", house.crews_inside, uses)


def uses_of_house(placed: Placed, house: str) -> list[Use]:
    """Return who is in a house, and when."""
    return [(place.task, place.start, place.end) for place in placed.by_house.get(house, [])]


def _equipment(placed: Placed) -> Found:
    for item in placed.problem.equipment:
        uses = uses_of_equipment(placed, item.id)
        yield from _full(placed, "equipment", item.capacity, uses, item.id)


def uses_of_equipment(placed: Placed, item: str) -> list[Use]:
    """Return the uses of equipment: by who works with it, and by what it stays with."""
    users = [p for p in placed.by_start if item in placed.tasks[p.task].needs]
    until: dict[str, int] = {}
    for wait in placed.waits:
        if item in wait.holds:
            end = placed.places[wait.before].end
            ready = placed.problem.curves[wait.curve].ready(end)
            until[wait.before] = max(end, ready, until.get(wait.before, 0))
    kept = [(task, placed.places[task].end, end) for task, end in until.items()]
    return [(p.task, p.start, p.end) for p in users] + [use for use in kept if use[1] < use[2]]


def _full(placed: Placed, code: str, most: int, uses: Sequence[Use], thing: str = "") -> Found:
    """Yield the last stretch before each use in which so many others leave no room for it."""
    for use in uses if len(uses) > most else ():
        task, start, _ = use
        others = [other for other in uses if other is not use]
        full = full_spans(most, (other[1:] for other in others))
        goes_on = {first for first, _ in full}
        ends = (end for _, end in full if end <= start and end not in goes_on)
        until = max(ends, default=None)
        if until is not None:
            last = next(other for other, _, end in others if end == until)
            yield task, Reason(code, placed.places[task].start - (start - until), last, thing)


def _air(placed: Placed) -> Found:
    """Yield for dusty tasks when wet air before them is dry, for wet ones when dust has ended."""
    spaces: dict[str, list[Placement]] = defaultdict(list)
    for place in placed.by_start:
        space = placed.tasks[place.task].air_space
        if space is not None:
            spaces[space].append(place)
    for group in spaces.values():
        coats = [place for place in group if placed.tasks[place.task].wet_curve]
        for dust in (place for place in group if placed.tasks[place.task].dusty):
            for coat in coats:
                if coat.task != dust.task:
                    yield _apart(placed, dust, coat)


def _apart(placed: Placed, dust: Placement, coat: Placement) -> tuple[str, Reason]:
    curve = placed.tasks[coat.task].wet_curve or ""
    if dust.end <= coat.start:
        return coat.task, Reason("dust", dust.end, dust.task)
    dry = max(coat.end, placed.problem.curves[curve].ready(coat.end))
    return dust.task, Reason("dust", dry, coat.task)
