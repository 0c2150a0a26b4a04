"""Plans weighed by how little they change, from the least change on."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from scheduling.solver.change import Visit
from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.homes import Homes, Size
from scheduling.solver.least_change import Least
from scheduling.solver.nearest import choices_near

Worth = tuple[int, Size, int]
"""Tasks without a place, change, and the sum of the ends, compared in that order."""


def worth(homes: Homes, draft: Draft) -> Worth:
    """Return how good a draft is for who wants little change; smaller is better."""
    return draft.crew.count(NOWHERE), homes.size(draft), sum(draft.end)


@dataclass(slots=True)
class _Spent:
    """What the tasks placed so far in a search cost."""

    unplaced: int
    visits: dict[Visit, int]
    shift: int


class Weighing:
    """Weighs the places of some tasks, in the order given, the others held.

    A branch ends as soon as it must change as much as the best plan found. ``steps``: how many
    branches to look into, trying a few places per task only; None for all of them, and for every
    place. ``complete``: nothing was left out, so that no plan changes less that leaves as few
    tasks out and the others held.
    """

    def __init__(
        self,
        homes: Homes,
        draft: Draft,
        free: Iterable[int],
        leasts: Sequence[Least],
        go_on: Callable[[], bool],
        *,
        steps: int | None = None,
    ) -> None:
        self.homes, self.free, self.every = homes, list(free), steps is None
        self.best, self._worth = draft, worth(homes, draft)
        self._left, self._go_on, self._stopped = steps, go_on, False
        self._to_come = _to_come([leasts[task] for task in self.free])
        self._draft = draft.copy()
        for task in self.free:
            if self._draft.crew[task] != NOWHERE:
                self._draft.take(task)
        self._spent = self._cost_of_held()
        self._visit(0)

    @property
    def complete(self) -> bool:
        """Whether every plan was weighed."""
        return self.every and not self._stopped

    def _cost_of_held(self) -> _Spent:
        spent = _Spent(0, {}, 0)
        free = set(self.free)
        for task, crew in enumerate(self._draft.crew):
            if task in free or self.homes.compiled.tasks[task].fixed:
                continue
            if crew == NOWHERE:
                spent.unplaced += 1
                continue
            place = self.homes.cost_in(self._draft, task)
            spent.shift += place.shift
            if place.visit is not None:
                spent.visits[place.visit] = spent.visits.get(place.visit, 0) + 1
        return spent

    def _visit(self, depth: int) -> None:
        self._stopped = self._stopped or self._left == 0 or not self._go_on()
        if self._stopped or self._hopeless(depth):
            return
        if self._left is not None:
            self._left -= 1
        if depth == len(self.free):
            found = worth(self.homes, self._draft)
            if found < self._worth:
                self.best, self._worth = self._draft.copy(), found
            return
        task, spent = self.free[depth], self._spent
        for cost, place in choices_near(self._draft, self.homes, task, every=self.every):
            self._draft.put(task, place)
            self._count(cost.visit, 1)
            spent.shift += cost.shift
            self._visit(depth + 1)
            spent.shift -= cost.shift
            self._count(cost.visit, -1)
            self._draft.take(task)
            if self._stopped:
                return
        spent.unplaced += 1
        self._visit(depth + 1)
        spent.unplaced -= 1

    def _count(self, visit: Visit | None, by: int) -> None:
        if visit is not None:
            self._spent.visits[visit] = self._spent.visits.get(visit, 0) + by

    def _hopeless(self, depth: int) -> bool:
        """Return whether the plan must change as much as the best one, whatever is to come."""
        broken, shift = self._to_come[depth]
        spent = self._spent
        visits = len(broken.union(visit for visit, count in spent.visits.items() if count))
        return (spent.unplaced, (visits, spent.shift + shift)) >= self._worth[:2]


def _to_come(leasts: Sequence[Least]) -> list[tuple[frozenset[Visit], int]]:
    """Return by depth the visits that the tasks from there on must break up, and their shift."""
    rest: list[tuple[frozenset[Visit], int]] = [(frozenset(), 0)]
    for least in reversed(leasts):
        broken, shift = rest[-1]
        visit = frozenset() if least.visit is None else {least.visit}
        rest.append((broken | visit, shift + least.shift))
    return rest[::-1]
