"""Which tasks must be placed at one go because maximum lags tie them together."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

Pair = tuple[int, int]


def chains_of(
    units: Sequence[Sequence[int]], links: Iterable[Pair], lags: Sequence[Pair]
) -> list[list[int]]:
    """Return the groups of units (lists of task indices) that maximum lags tie together.

    links, lags: (before, after) pairs of tasks, of all waits and of those with a maximum lag.
    What comes between the two ends of a lag belongs to the group too, as it must be placed
    between them. A group lists its units in the order given; units outside any group are absent.
    """
    if not lags:
        return []
    unit_of = {task: number for number, unit in enumerate(units) for task in unit}
    later: dict[int, set[int]] = defaultdict(set)
    earlier: dict[int, set[int]] = defaultdict(set)
    for before, after in links:
        later[unit_of[before]].add(unit_of[after])
        earlier[unit_of[after]].add(unit_of[before])
    leader = list(range(len(units)))
    for before, after in lags:
        one, two = unit_of[before], unit_of[after]
        between = _reached(one, later) & _reached(two, earlier)
        for number in {one, two, *between}:
            leader[_head(leader, number)] = _head(leader, one)
    tied = {unit_of[task] for pair in lags for task in pair}
    heads = {_head(leader, number) for number in tied}
    groups: dict[int, list[int]] = {head: [] for head in sorted(heads)}
    for number, unit in enumerate(units):
        if (head := _head(leader, number)) in groups:
            groups[head].extend(unit)
    return list(groups.values())


def _reached(first: int, ways: dict[int, set[int]]) -> set[int]:
    """Return the units that can be reached from one."""
    reached, todo = {first}, [first]
    while todo:
        more = ways[todo.pop()] - reached
        reached |= more
        todo.extend(more)
    return reached


def _head(leader: list[int], number: int) -> int:
    """Return the number that stands for a group."""
    while leader[number] != number:
        number = leader[number]
    return number
