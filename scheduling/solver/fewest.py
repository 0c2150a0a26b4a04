"""The plan that changes least: what still holds stays, what breaks goes to the nearest place."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from random import Random

from scheduling.solver.change import Visit
from scheduling.solver.construct import in_order
from scheduling.solver.draft import NOWHERE, Draft, empty_draft
from scheduling.solver.homes import Homes, Size
from scheduling.solver.nearest import choices_near, home_place

WHOLE_UP_TO = 8
"""Free tasks up to which every plan is weighed, so that the change is the least there is."""

PART_OF = 6
"""Tasks taken out at a time in larger problems."""

WHOLE_STEPS, PART_STEPS = 300_000, 300

Worth = tuple[int, Size, int]
"""Tasks without a place, change, and the sum of the ends, compared in that order."""


def first_fewest(homes: Homes) -> Draft:
    """Return a draft with little change, made without any search."""
    order = _in_line(homes)
    return min((_pushed(homes, order), _kept(homes, order)), key=lambda d: worth(homes, d))


def fewest_changes(homes: Homes, draft: Draft, rng: Random, go_on: Callable[[], bool]) -> Draft:
    """Return the draft with the smallest change found from a first one while ``go_on`` says so.

    With at most ``WHOLE_UP_TO`` free tasks, and time enough, no plan changes less.
    """
    order = _in_line(homes)
    if len(order) <= WHOLE_UP_TO:
        return _Search(homes, draft, order, WHOLE_STEPS, go_on, every=True).best
    while go_on():
        moved = [task for task in order if _away(homes, draft, task)]
        if not moved:
            break
        part = _around(homes, draft, rng.choice(moved), order, rng)
        draft = _Search(homes, draft, part, PART_STEPS, go_on, every=False).best
    return draft


def worth(homes: Homes, draft: Draft) -> Worth:
    """Return how good a draft is for who wants little change; smaller is better."""
    return draft.crew.count(NOWHERE), homes.size(draft), sum(draft.end)


def settle(homes: Homes, draft: Draft, allowed: Callable[[Draft], bool]) -> Draft:
    """Return the draft with every task back at its old place that the rule allows to go back."""
    for task in _in_line(homes):
        if _away(homes, draft, task):
            candidate = draft.copy()
            candidate.take(task)
            place = home_place(candidate, homes, task)
            if place is not None:
                candidate.put(task, place)
                if allowed(candidate):
                    draft = candidate
    return draft


def _in_line(homes: Homes) -> list[int]:
    """Return the free tasks, each after those it waits for, by their old starts."""
    compiled = homes.compiled
    far = compiled.problem.horizon

    def rank(task: int) -> float:
        return homes.places[task].start if task in homes.places else far

    singles = [[task] for unit in in_order(compiled, rank) for task in unit]
    return [task for (task,) in singles if compiled.tasks[task].fixed is None]


def _away(homes: Homes, draft: Draft, task: int) -> bool:
    home = homes.places.get(task)
    if home is None or draft.crew[task] == NOWHERE:
        return False
    return (homes.crew_id(draft.crew[task]), draft.start[task]) != (home.crew, home.start)


def _pushed(homes: Homes, order: Sequence[int]) -> Draft:
    """Place task by task, each as near to its home as what came before leaves."""
    draft = empty_draft(homes.compiled)
    for task in order:
        _put_near(homes, draft, task)
    return draft


def _kept(homes: Homes, order: Sequence[int]) -> Draft:
    """Keep all homes that hold together, then place the rest around them.

    A task that finds no place sets free what comes after it.
    """
    draft = empty_draft(homes.compiled)
    for task in order:
        place = home_place(draft, homes, task)
        if place is not None:
            draft.put(task, place)
    for task in order:
        if draft.crew[task] == NOWHERE and not _put_near(homes, draft, task):
            for later in _followers(homes, task):
                if draft.crew[later] != NOWHERE and homes.compiled.tasks[later].fixed is None:
                    draft.take(later)
            _put_near(homes, draft, task)
    return draft


def _followers(homes: Homes, task: int) -> set[int]:
    """Return every task that comes after one by waits and runs, however far."""
    compiled, found, todo = homes.compiled, set[int](), [task]
    while todo:
        here = todo.pop()
        after = [link.other for link in compiled.waits_from[here]]
        after += [compiled.run_after[here]] if compiled.run_after[here] >= 0 else []
        todo += [other for other in after if other not in found]
        found.update(after)
    return found - {task}


def _put_near(homes: Homes, draft: Draft, task: int) -> bool:
    place = home_place(draft, homes, task)
    if place is None:
        choices = choices_near(draft, homes, task, every=False)
        place = choices[0][1] if choices else None
    if place is not None:
        draft.put(task, place)
    return place is not None


def _around(homes: Homes, draft: Draft, task: int, order: Sequence[int], rng: Random) -> list[int]:
    """Return a moved task and some that may stand in its way, in the order to place them."""
    compiled, start = homes.compiled, homes.places[task].start
    crew = compiled.crew_number(homes.places[task].crew)
    near = [
        other
        for other in order
        if other != task
        and draft.crew[other] != NOWHERE
        and (
            draft.crew[other] in {crew, draft.crew[task]}
            or compiled.house[other] == compiled.house[task]
        )
    ]
    near.sort(key=lambda other: abs(draft.start[other] - start) * (0.5 + rng.random()))
    chosen = {task, *near[: PART_OF - 1]}
    return [other for other in order if other in chosen]


@dataclass(slots=True)
class _Spent:
    """What the tasks placed so far in a search cost."""

    unplaced: int
    visits: dict[Visit, int]
    shift: int


class _Search:
    """Weighs the places of some tasks, the others held, from the least change on.

    A branch ends as soon as it costs as much as the best plan found.
    """

    def __init__(
        self,
        homes: Homes,
        draft: Draft,
        free: Iterable[int],
        steps: int,
        go_on: Callable[[], bool],
        *,
        every: bool,
    ) -> None:
        self.homes, self.free, self.every = homes, list(free), every
        self.best, self._worth = draft, worth(homes, draft)
        self._left, self._go_on = steps, go_on
        self._draft = draft.copy()
        for task in self.free:
            if self._draft.crew[task] != NOWHERE:
                self._draft.take(task)
        self._spent = self._cost_of_held()
        self._visit(0)

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
        self._left -= 1
        if self._left < 0 or not self._go_on() or self._hopeless():
            return
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
            if self._left < 0:
                return
        spent.unplaced += 1
        self._visit(depth + 1)
        spent.unplaced -= 1

    def _count(self, visit: Visit | None, by: int) -> None:
        if visit is not None:
            self._spent.visits[visit] = self._spent.visits.get(visit, 0) + by

    def _hopeless(self) -> bool:
        visits = sum(count > 0 for count in self._spent.visits.values())
        spent = (self._spent.unplaced, (visits, self._spent.shift))
        return spent >= self._worth[:2]
