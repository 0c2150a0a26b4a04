"""What several tasks share and only so many can have at once: room in a house, equipment."""

from collections.abc import Iterable, Iterator
from itertools import accumulate, pairwise
from typing import NamedTuple

from scheduling.solver.problem import Equipment, Problem, ReadyCurve, Wait
from scheduling.solver.ways import ways_by_task

Stretch = tuple[int, int]


class Holder(NamedTuple):
    """A task (index) which, left in this way (number), has one from its end until the last of
    the curves says so."""

    task: int
    way: int
    curves: tuple[ReadyCurve, ...]


class Thing(NamedTuple):
    """Something scarce: how many at once, the tasks (indices) that take one while they run, and
    those that have one afterwards."""

    capacity: int
    users: list[int]
    holders: list[Holder]

    def without(self, task: int) -> "Thing":
        """Return what the other tasks do with it."""
        return Thing(
            self.capacity,
            [user for user in self.users if user != task],
            [holder for holder in self.holders if holder.task != task],
        )


def shared_things(problem: Problem) -> list[Thing]:
    """Return what more tasks share than can have it at once."""
    tasks = problem.tasks
    things = [
        Thing(house.crews_inside, [i for i, t in enumerate(tasks) if t.house == house.id], [])
        for house in problem.houses
        if house.crews_inside is not None
    ]
    things += [
        Thing(
            item.capacity,
            [i for i, task in enumerate(tasks) if item.id in task.needs],
            list(_holders(problem, item)),
        )
        for item in problem.equipment
    ]
    return [
        thing
        for thing in things
        if len({*thing.users, *(holder.task for holder in thing.holders)}) > thing.capacity
    ]


def _holders(problem: Problem, item: Equipment) -> Iterator[Holder]:
    """Yield for every way in which a task holds some of the equipment the curves that say how
    long."""
    waits: dict[str, list[Wait]] = {}
    for wait in problem.waits:
        if item.id in wait.holds:
            waits.setdefault(wait.before, []).append(wait)
    ways = ways_by_task(problem)
    for number, task in enumerate(problem.tasks):
        for way, name in enumerate(ways.get(task.id, (None,))) if task.id in waits else ():
            counting = (wait for wait in waits[task.id] if wait.way in {None, name})
            curves = tuple(problem.curves[wait.curve] for wait in counting)
            if curves:
                yield Holder(number, way, curves)


def use_over_time(spans: Iterable[Stretch]) -> list[tuple[int, int, int]]:
    """Return (from, to, how many) of half-open spans wherever there are any, in rising order."""
    changes: dict[int, int] = {}
    for start, end in spans:
        changes[start] = changes.get(start, 0) + 1
        changes[end] = changes.get(end, 0) - 1
    ticks = sorted(changes)
    counts = accumulate(changes[tick] for tick in ticks)
    stretches = zip(pairwise(ticks), counts, strict=False)
    return [(one, two, count) for (one, two), count in stretches if count]


def full_spans(capacity: int, spans: Iterable[Stretch]) -> list[Stretch]:
    """Return the stretches in which so many spans or more lie over each other."""
    return [(one, two) for one, two, count in use_over_time(spans) if count >= capacity]
