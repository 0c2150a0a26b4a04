"""A change that no plan can undercut: every task as near to its old place as it could be if crews
had no other work."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from scheduling.solver.bound import could_place_more, earliest
from scheduling.solver.change import Visit
from scheduling.solver.draft import Draft, Place
from scheduling.solver.homes import Cost, Homes, Size


class Least(NamedTuple):
    """What a task changes at least. visit: the visit it breaks up wherever it goes, None where it
    need not. shift, shift_in_visit: working ticks, the latter without breaking its visit up."""

    visit: Visit | None
    shift: int
    shift_in_visit: int


NOTHING = Least(None, 0, 0)


class LeastChange:
    """What every plan changes at least which has a place for all tasks that can have one.

    by_task: nothing for tasks that are fixed, new or unseen, or can have no place. size: of all of
    them together.
    """

    def __init__(self, homes: Homes) -> None:
        floors, _ = earliest(homes.compiled)
        self.homes = homes
        self.by_task = [_least(homes, task, floor) for task, floor in enumerate(floors)]
        self.size = _size_of(self.by_task)

    def proves(self, draft: Draft) -> bool:
        """Return whether it is plain that no plan with as many tasks changes less than a draft."""
        size = self.homes.size(draft)
        return size == (0, 0) or (size == self.size and not could_place_more(draft))


def _size_of(leasts: Sequence[Least]) -> Size:
    """Return the change of all tasks together. In a plan that moves no other visits than it must,
    all other tasks stay in theirs."""
    broken = {least.visit for least in leasts} - {None}
    return len(broken), sum(
        least.shift if least.visit is not None else least.shift_in_visit for least in leasts
    )


def _least(homes: Homes, task: int, floor: int) -> Least:
    if task not in homes.visits:
        return NOTHING
    costs = list(_nearest_costs(homes, task, floor))
    if not costs:
        return NOTHING
    in_visit = [cost.shift for cost in costs if cost.visit is None]
    shift = min(cost.shift for cost in costs)
    visit = None if in_visit else homes.visits[task]
    return Least(visit, shift, min(in_visit, default=shift))


def _nearest_costs(homes: Homes, task: int, floor: int) -> Iterator[Cost]:
    """Yield what the start nearest to the old one costs, in each stretch of each crew's starts."""
    home = homes.places[task].start
    for crew, choices in enumerate(homes.compiled.choices[task]):
        for low, high in zip(choices.lows, choices.highs, strict=True) if choices else ():
            if high >= floor:
                start = min(max(home, low, floor), high)
                yield homes.cost(task, Place(crew, start, start, 0))
