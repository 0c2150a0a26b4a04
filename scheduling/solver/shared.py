"""What several tasks share and only so many can have at once: room in a house, equipment."""

from collections.abc import Iterable
from itertools import accumulate, pairwise

from scheduling.solver.problem import Problem

Stretch = tuple[int, int]


def shared_things(problem: Problem) -> list[tuple[int, list[int]]]:
    """Return what is scarce as (how many at once, tasks by index that take one while they run)."""
    tasks = problem.tasks
    things = [
        (house.crews_inside, [i for i, task in enumerate(tasks) if task.house == house.id])
        for house in problem.houses
        if house.crews_inside is not None
    ]
    things += [
        (item.capacity, [i for i, task in enumerate(tasks) if item.id in task.needs])
        for item in problem.equipment
    ]
    return [(capacity, users) for capacity, users in things if len(users) > capacity]


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
