"""Where each task was in the plan that is to change little, and what a place costs against it."""

from dataclasses import dataclass
from typing import NamedTuple

from scheduling.solver.change import Current, Visit, WorkingTime, visit_of
from scheduling.solver.compiled import Compiled
from scheduling.solver.draft import NOWHERE, Draft, Place
from scheduling.solver.problem import Placement

Size = tuple[int, int]
"""Visits moved, then total shift in working ticks."""


class Cost(NamedTuple):
    """The visit of the old plan that a place breaks up, if any, and its shift in ticks."""

    visit: Visit | None
    shift: int


STAYS = Cost(None, 0)


@dataclass(frozen=True, slots=True)
class Homes:
    """The old places by task index (absent for new tasks) and the crews' working time.

    visits: by task the visit of the old plan that it is part of; none for tasks unseen.
    """

    compiled: Compiled
    places: dict[int, Placement]
    time: WorkingTime
    visits: dict[int, Visit]

    def cost(self, task: int, place: Place) -> Cost:
        """Return what a place changes; nothing for a task that had none that anybody saw."""
        if task not in self.visits:
            return STAYS
        home = self.places[task]
        crew = self.crew_id(place.crew)
        there = Placement(home.task, crew, place.start, place.end)
        visit = self.visits[task] if self.time.moves(home, there) else None
        return Cost(visit, self.time.between(crew, home.start, place.start))

    def cost_in(self, draft: Draft, task: int) -> Cost:
        """Return what the place of a task in a draft changes."""
        return self.cost(task, draft.place(task))

    def size(self, draft: Draft) -> Size:
        """Return how much a draft differs from the old plan."""
        costs = [
            self.cost_in(draft, task)
            for task, crew in enumerate(draft.crew)
            if crew != NOWHERE and self.compiled.tasks[task].fixed is None
        ]
        visits = {cost.visit for cost in costs if cost.visit is not None}
        return len(visits), sum(cost.shift for cost in costs)

    def crew_id(self, crew: int) -> str:
        """Return the id of a crew by its index."""
        crews = self.compiled.problem.crews
        return crews[crew].id if crew < len(crews) else ""


def homes_of(compiled: Compiled, current: Current) -> Homes:
    """Return the homes of the tasks that the problem knows and does not fix."""
    time = WorkingTime(compiled.problem.crews)
    places = {
        compiled.index[place.task]: place
        for place in current.places
        if place.task in compiled.index and compiled.tasks[compiled.index[place.task]].fixed is None
    }
    visits = {
        task: visit_of(time, compiled.tasks[task].house, place)
        for task, place in places.items()
        if place.task not in current.unseen
    }
    return Homes(compiled, places, time, visits)
