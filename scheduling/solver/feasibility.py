"""Lags and orders that contradict each other, whatever the crews and calendars."""

from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise, product

from scheduling.solver.problem import Problem, Task, may_do, task_ticks
from scheduling.solver.ways import certain_waits

Moment = tuple[str, bool]
"""A task's id, and whether its end is meant (or its start)."""
Edge = tuple[Moment, Moment, int]
"""The second moment comes at least so many ticks after the first."""


def impossible_lags(problem: Problem) -> list[str]:
    """Return tasks (ids, in order round the ring) whose lags no plan can keep; empty if none.

    Minimum lags, orders and shortest durations push tasks apart, maximum lags and longest
    durations pull them together; a ring with more push than pull is a contradiction. (A longest
    path by Bellman's and Ford's rule, which does not end where there is such a ring.)
    """
    if all(wait.most is None for wait in problem.waits) and not _goes_round(problem):
        return []
    edges: dict[Moment, list[tuple[Moment, int]]] = {}
    for one, two, ticks in (*_durations(problem), *_lags(problem)):
        edges.setdefault(one, []).append((two, ticks))
        edges.setdefault(two, [])
    earliest = dict.fromkeys(edges, 0)
    parent: dict[Moment, Moment] = {}
    raised = list(edges)
    while raised:
        again: dict[Moment, None] = {}
        for one in raised:
            for two, ticks in edges[one]:
                if earliest[one] + ticks > earliest[two]:
                    earliest[two], parent[two] = earliest[one] + ticks, one
                    again[two] = None
        if ring := _ring(parent):
            return ring
        raised = list(again)
    return []


def _ring(parent: dict[Moment, Moment]) -> list[str]:
    """Return the tasks of a ring of parents, in its order, empty where there is none."""
    seen: set[Moment] = set()
    for moment in parent:
        path: dict[Moment, None] = {}
        here: Moment | None = moment
        while here is not None and here not in seen:
            seen.add(here)
            path[here] = None
            here = parent.get(here)
        if here in path:
            moments = list(path)
            ring = moments[moments.index(here) :]
            return list(dict.fromkeys(task for task, _ in reversed(ring)))
    return []


def _durations(problem: Problem) -> Iterator[Edge]:
    for task in problem.tasks:
        if lengths := _lengths(problem, task):
            yield (task.id, False), (task.id, True), min(lengths)
            if not task.split or task.fixed:
                yield (task.id, True), (task.id, False), -max(lengths)


def _lengths(problem: Problem, task: Task) -> set[int]:
    """Return the ticks the task can take at one go; none where no crew may do it."""
    if task.fixed is not None:
        return {task.fixed.end - task.fixed.start}
    return {
        task_ticks(task, crew.id, window.heads)
        for crew in problem.crews
        if may_do(task, crew)
        for window in crew.windows
    }


def _goes_round(problem: Problem) -> bool:
    """Return whether some tasks come after themselves, however early that may be."""
    after = TopologicalSorter[str]()
    for one, two, _ in _lags(problem):
        if one[1] and not two[1]:
            after.add(two[0], one[0])
    try:
        after.prepare()
    except CycleError:
        return True
    return False


def _lags(problem: Problem) -> Iterator[Edge]:
    """Yield what waits, run orders and hardness ask of tasks that are not fixed."""
    fixed = {task.id for task in problem.tasks if task.fixed}
    for before, after, groups in certain_waits(problem):
        if after not in fixed:
            least = min(max(min(problem.curves[w.curve].lags) for w in group) for group in groups)
            yield (before, True), (after, False), least
            mosts = [[w.most for w in group if w.most is not None] for group in groups]
            if all(mosts):
                yield (after, False), (before, True), -max(min(group) for group in mosts)
    for one, two in (*_run_pairs(problem), *_over_softer(problem)):
        if two not in fixed:
            yield (one, True), (two, False), 0


def _run_pairs(problem: Problem) -> Iterator[tuple[str, str]]:
    runs: dict[str, list[str]] = {}
    for task in problem.tasks:
        if task.run is not None:
            runs.setdefault(task.run, []).append(task.id)
    for run in runs.values():
        yield from pairwise(run)


def _over_softer(problem: Problem) -> Iterator[tuple[str, str]]:
    """Yield in each room what is harder before what is softer."""
    rooms: dict[str, list[tuple[int, str]]] = {}
    for task in problem.tasks:
        if task.grade is not None:
            rooms.setdefault(task.room, []).append((task.grade, task.id))
    for graded in rooms.values():
        for (grade, softer), (harder_grade, harder) in product(graded, repeat=2):
            if grade < harder_grade:
                yield harder, softer
