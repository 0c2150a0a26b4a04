"""Projects with minimum and maximum lags and scarce resources, as Problems.

Lags there go from start to start. So each activity gets a task of one tick before it, by the same
crew and without a wait: where that ends the activity starts, and everything is one tick later.
Activities that may not all run at once because a resource is too scarce share equipment of which
there is one less than there are of them: those are the minimal forbidden sets of Bartusch, Moehring
and Radermacher (Annals of Operations Research 16, 1988; from memory).
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

import psplib

from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Equipment,
    Handover,
    House,
    Problem,
    Task,
    Wait,
    Window,
    constant_lag,
)

Arc = tuple[int, int, int]
"""The second activity starts so many ticks after the first at the earliest."""


class Project:
    """Arcs between all activities, the dummies for start and end included; durations, demands by
    resource, and capacities."""

    def __init__(self, file: Path) -> None:
        instance = psplib.parse_rcpsp_max(file)
        activities = instance.activities
        self.durations = [activity.modes[0].duration for activity in activities]
        self.demands = [activity.modes[0].demands for activity in activities]
        self.capacities = [resource.capacity for resource in instance.resources]
        self.arcs: list[Arc] = [
            (one, two, lag)
            for one, activity in enumerate(activities)
            for two, lag in zip(activity.successors, activity.delays, strict=True)
        ]
        self.end = len(activities) - 1

    def forbidden_sets(self) -> list[tuple[int, ...]]:
        """Return the smallest sets of activities that ask for more than there is together."""
        found: list[tuple[int, ...]] = []
        for size in range(2, self.end):
            for members in combinations(range(1, self.end), size):
                if not any(set(smaller) <= set(members) for smaller in found) and any(
                    sum(self.demands[i][resource] for i in members) > capacity
                    for resource, capacity in enumerate(self.capacities)
                ):
                    found.append(members)
        return found

    def least_distances(self) -> dict[tuple[int, int], int]:
        """Return how long after another each activity starts at least, by Floyd and Warshall."""
        nodes = range(self.end + 1)
        far = -sum(self.durations) - sum(abs(lag) for _, _, lag in self.arcs)
        distance = {(i, j): 0 if i == j else far for i, j in product(nodes, nodes)}
        for one, two, lag in self.arcs:
            distance[one, two] = max(distance[one, two], lag)
        for k, i, j in product(nodes, nodes, nodes):
            distance[i, j] = max(distance[i, j], distance[i, k] + distance[k, j])
        return distance


def project_problem(project: Project) -> Problem:
    """Return a project as a Problem whose lateness is five minutes per tick of makespan and one."""
    horizon = 1 + sum(project.durations) + sum(max(0, lag) for _, _, lag in project.arcs)
    inner = range(1, project.end)
    waits = [Wait(f"start {i}", f"{i}", "lag 0", most=0) for i in inner]
    waits += _waits(project)
    sets = project.forbidden_sets()
    release = {two: lag for one, two, lag in project.arcs if one == 0}
    tasks = []
    for i in inner:
        task = Task(
            id=f"{i}",
            house="site",
            room=f"place {i}",
            crews=(f"crew {i}",),
            person_minutes=project.durations[i] * TICK_MINUTES,
            needs=tuple(str(number) for number, members in enumerate(sets) if i in members),
            handover="all",
        )
        start = replace(task, id=f"start {i}", person_minutes=TICK_MINUTES, needs=(), handover=None)
        tasks += [replace(start, release=release.get(i, 0)), task]
    lags = {wait.curve: int(wait.curve.removeprefix("lag ")) for wait in waits}
    return Problem(
        origin="2026-01-01T00:00:00+00:00",
        horizon=horizon,
        crews=tuple(Crew(f"crew {i}", (Window(0, horizon, 0),)) for i in inner),
        houses=(House("site"),),
        tasks=tuple(tasks),
        handovers=(Handover("all", "site", 0),),
        waits=tuple(waits),
        curves={name: constant_lag(ticks) for name, ticks in lags.items()},
        equipment=tuple(Equipment(str(number), len(m) - 1) for number, m in enumerate(sets)),
    )


def _waits(project: Project) -> Iterator[Wait]:
    """Yield a wait for every arc; one of below nothing is a maximum lag the other way round."""
    distance = project.least_distances()
    for one, two, lag in project.arcs:
        if project.end in (one, two) and (two != project.end or lag != project.durations[one]):
            raise ValueError(f"an arc between {one} and {two} that this cannot say")
        if 0 in (one, two) or two == project.end:
            continue
        if lag >= 0:
            yield Wait(f"start {one}", f"start {two}", f"lag {lag - 1}")
        else:
            least = distance[two, one] - 1
            yield Wait(f"start {two}", f"start {one}", f"lag {least}", most=-lag - 1)
