"""The ways in which a task can be left, and what they leave certain before one is chosen."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.solver.curves import latest_end
from scheduling.solver.problem import Problem, ReadyCurve, Wait

EVERY = -1
"""Number of the way of a wait that counts however its task is left."""


def ways_by_task(problem: Problem) -> dict[str, tuple[str, ...]]:
    """Return by task (id) the names of its ways as the waits first name them; a task without
    any is absent."""
    names: dict[str, dict[str, None]] = {}
    for wait in problem.waits:
        if wait.way is not None:
            names.setdefault(wait.before, {})[wait.way] = None
    return {task: tuple(found) for task, found in names.items()}


def certain_waits(problem: Problem) -> list[tuple[str, str, list[list[Wait]]]]:
    """Return (before, after, groups) of which one group or another holds in any plan.

    A wait that always counts is alone in its only group. Waits in ways are grouped by way; where
    ``before`` may be left so that it has none for ``after``, nothing is certain.
    """
    ways = ways_by_task(problem) | {
        task.id: (task.fixed.way,) for task in problem.tasks if task.fixed
    }
    certain = [(wait.before, wait.after, [[wait]]) for wait in problem.waits if wait.way is None]
    in_ways: dict[tuple[str, str], dict[str, list[Wait]]] = {}
    for wait in problem.waits:
        if wait.way is not None:
            groups = in_ways.setdefault((wait.before, wait.after), {})
            groups.setdefault(wait.way, []).append(wait)
    for (before, after), groups in in_ways.items():
        if all(way in groups for way in ways[before]):
            certain.append((before, after, [groups[way] for way in ways[before]]))
    return certain


@dataclass(frozen=True, slots=True)
class LeastWait:
    """The least that is asked between two tasks, however the first is left: all curves of one
    of the groups."""

    groups: Sequence[Sequence[ReadyCurve]]

    def ready(self, end: int) -> int:
        """Return a tick before which nothing may follow after an end at tick ``end``."""
        return min(max(curve.ready(end) for curve in group) for group in self.groups)

    def latest_end(self, start: int) -> int:
        """Return a tick after which nothing may end that something follows at ``start``."""
        return max(min(latest_end(curve, start) for curve in group) for group in self.groups)

    @property
    def lag(self) -> int:
        """The shortest lag (ticks)."""
        return min(max(min(curve.lags) for curve in group) for group in self.groups)
