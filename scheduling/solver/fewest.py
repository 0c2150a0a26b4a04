"""The plan that changes least: what still holds stays, what breaks goes to the nearest place."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from scheduling.solver.construct import in_order
from scheduling.solver.draft import NOWHERE, Draft, empty_draft
from scheduling.solver.homes import Homes
from scheduling.solver.least_change import LeastChange
from scheduling.solver.ledger import Ledger
from scheduling.solver.nearest import choices_near, home_place
from scheduling.solver.tally import Key
from scheduling.solver.weighing import Weighing, worth

WHOLE_UP_TO = 12
"""Free tasks up to which every plan is weighed, if there is time: no plan then changes less."""

PART_OF = 6
"""Tasks taken out at a time before that, and in larger problems."""

PART_STEPS, PARTS_BEFORE_WHOLE = 300, 20


@dataclass(frozen=True, slots=True)
class Fewest:
    """A draft with little change. proved: no plan with as many tasks changes less."""

    draft: Draft
    proved: bool


def first_fewest(homes: Homes) -> Draft:
    """Return a draft with little change, made without any search."""
    order = _in_line(homes)
    return min((_pushed(homes, order), _kept(homes, order)), key=lambda d: worth(homes, d))


def fewest_changes(homes: Homes, draft: Draft, rng: Random, go_on: Callable[[], bool]) -> Fewest:
    """Return the draft with the smallest change found from a first one while ``go_on`` says so.

    It is proved where nothing more than it must moves (``least_change.py``), and with at most
    ``WHOLE_UP_TO`` free tasks, and time enough, by weighing every plan.
    """
    order, least = _in_line(homes), LeastChange(homes)
    whole, parts = len(order) <= WHOLE_UP_TO, 0
    while not (whole and parts == PARTS_BEFORE_WHOLE) and go_on():
        moved = [task for task in order if _away(homes, draft, task)]
        if not moved or least.proves(draft):
            break
        part = _around(homes, draft, rng.choice(moved), order, rng)
        draft = Weighing(homes, draft, part, least.by_task, go_on, steps=PART_STEPS).best
        parts += 1
    if whole:
        weighing = Weighing(homes, draft, order, least.by_task, go_on)
        return Fewest(weighing.best, weighing.complete or least.proves(weighing.best))
    return Fewest(draft, least.proves(draft))


def settle(homes: Homes, draft: Draft, allowed: Callable[[Key], bool]) -> Draft:
    """Return the draft with every task back at its old place that the rule allows to go back."""
    draft = draft.copy()
    ledger = Ledger(draft)
    for task in _in_line(homes):
        if not _away(homes, draft, task):
            continue
        was = draft.take(task)
        place = home_place(draft, homes, task)
        draft.put(task, place or was)
        if place is None:
            continue
        entries = ledger.settle([(task, was), (task, place)])
        if not allowed(ledger.key()):
            draft.take(task)
            draft.put(task, was)
            ledger.restore(entries)
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
