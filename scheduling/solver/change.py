"""How much one plan of a problem differs from another: what moved, how far, in which order.

A small change is what the literature on rescheduling calls a stable one: few tasks elsewhere,
starts near their old starts, few pairs done the other way round. Tasks that only one of the two
plans has a place for are left out.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import accumulate, combinations

from scheduling.solver.evaluate import TICKS_PER_DAY
from scheduling.solver.problem import TICK_MINUTES, Crew, Placement, Problem

Visit = tuple[str, str, int]
"""A crew, a house, and the crew's working day (below zero where no window is open)."""


@dataclass(frozen=True, slots=True)
class Current:
    """The plan that is to change little: where its tasks are.

    unseen: tasks of it that nobody has been told about; they stay if they can, but moving them
    is no change.
    """

    places: tuple[Placement, ...]
    unseen: frozenset[str] = frozenset()

    @property
    def seen(self) -> tuple[Placement, ...]:
        """Where the tasks are that people have been told about."""
        return tuple(place for place in self.places if place.task not in self.unseen)


@dataclass(frozen=True, slots=True)
class Change:
    """visits_moved: visits of the first plan of which a task has another day or crew.
    tasks_moved: tasks with another day or crew. crews_changed: tasks with another crew.
    total_shift_minutes, largest_shift_minutes: distance of the starts, in working minutes of the
    task's crew in the second plan (the sum is the usual measure of schedule stability).
    reversals: pairs of tasks that one crew does in both plans, in opposite orders (inversions).
    """

    visits_moved: int = 0
    tasks_moved: int = 0
    crews_changed: int = 0
    total_shift_minutes: int = 0
    largest_shift_minutes: int = 0
    reversals: int = 0

    @property
    def size(self) -> tuple[int, int]:
        """What changes are compared by: visits moved, then the total shift in working minutes."""
        return self.visits_moved, self.total_shift_minutes


class WorkingTime:
    """Crews' working time, for quick questions about days and distances."""

    def __init__(self, crews: Iterable[Crew]) -> None:
        self._crews = {crew.id: crew for crew in crews}
        self._starts = {c.id: [w.start for w in c.windows] for c in self._crews.values()}
        self._sums = {
            crew.id: [0, *accumulate(window.end - window.start for window in crew.windows)]
            for crew in self._crews.values()
        }

    def between(self, crew: str, one: int, other: int) -> int:
        """Return the crew's working ticks between two ticks; of an unknown crew, all of them."""
        if crew not in self._crews:
            return abs(other - one)
        return abs(self._before(crew, other) - self._before(crew, one))

    def day(self, crew: str, tick: int) -> int:
        """Return the crew's working day at a tick; below zero, one of its own, outside windows."""
        number = bisect_right(self._starts.get(crew, []), tick) - 1
        if number >= 0 and tick < self._crews[crew].windows[number].end:
            return self._crews[crew].windows[number].day
        return -1 - abs(tick) // TICKS_PER_DAY

    def moves(self, one: Placement, other: Placement) -> bool:
        """Return whether the two places of a task are on different days or crews."""
        if one.crew != other.crew:
            return True
        days = self.day(one.crew, one.start), self.day(other.crew, other.start)
        return one.start != other.start and (days[0] != days[1] or days[0] < 0)

    def _before(self, crew: str, tick: int) -> int:
        number = bisect_right(self._starts[crew], tick) - 1
        if number < 0:
            return 0
        window = self._crews[crew].windows[number]
        return self._sums[crew][number] + min(tick, window.end) - window.start


def change_between(
    problem: Problem,
    before: Iterable[Placement],
    after: Iterable[Placement],
    *,
    until: int | None = None,
) -> Change:
    """Return how the plan ``after`` differs from ``before``.

    until: leave out the tasks that start at or after this tick in both plans, None for all.
    """
    old, new = ({place.task: place for place in places} for places in (before, after))
    both = [
        task.id
        for task in problem.tasks
        if task.id in old
        and task.id in new
        and (until is None or min(old[task.id].start, new[task.id].start) < until)
    ]
    time = WorkingTime(problem.crews)
    houses = {task.id: task.house for task in problem.tasks}
    moved = [name for name in both if time.moves(old[name], new[name])]
    shifts = [
        TICK_MINUTES * time.between(new[name].crew, old[name].start, new[name].start)
        for name in both
    ]
    return Change(
        visits_moved=len({visit_of(time, houses[name], old[name]) for name in moved}),
        tasks_moved=len(moved),
        crews_changed=sum(old[name].crew != new[name].crew for name in both),
        total_shift_minutes=sum(shifts),
        largest_shift_minutes=max(shifts, default=0),
        reversals=_reversals(both, old, new),
    )


def visit_of(time: WorkingTime, house: str, place: Placement) -> Visit:
    """Return the visit that a place is part of."""
    return place.crew, house, time.day(place.crew, place.start)


def _reversals(names: list[str], old: Mapping[str, Placement], new: Mapping[str, Placement]) -> int:
    by_crew: dict[str, list[str]] = defaultdict(list)
    for name in names:
        if old[name].crew == new[name].crew:
            by_crew[old[name].crew].append(name)
    return sum(
        (old[one].start - old[two].start) * (new[one].start - new[two].start) < 0
        for group in by_crew.values()
        for one, two in combinations(group, 2)
    )
