"""How large the CP-SAT model of some tasks would be, without building it."""

from collections import Counter
from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

from scheduling.solver.compiled import Compiled


class Size(NamedTuple):
    """options: pairs of a task and a crew that may do it. ways: pairs of tasks in different houses
    between which some crew may have to travel, counted once for every such crew."""

    options: int
    ways: int


def size_of(compiled: Compiled, free: Sequence[int]) -> Size:
    """Return the size of the model in which the tasks (indices) are free."""
    able: list[Counter[int]] = [Counter() for _ in compiled.problem.crews]
    for task in free:
        for crew in compiled.crews[task]:
            able[crew][compiled.house[task]] += 1
    gaps = compiled.gaps
    ways = sum(
        houses[one] * houses[two]
        for houses in able
        for one, two in combinations(houses, 2)
        if gaps[one][two] or gaps[two][one]
    )
    return Size(sum(houses.total() for houses in able), ways)
