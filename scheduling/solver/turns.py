"""Whose turn it is: the order in which a plan's tasks have what they share."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from scheduling.solver.problem import Placement, Problem


class Turn(NamedTuple):
    """A task (index) that has what another needs until its end, or the last of some curves (ids)
    of its end. The other may start so many ticks before that (``head_start``): it needs the thing
    only for what it leaves, from its own end on."""

    before: int
    curves: tuple[str, ...] = ()
    head_start: int = 0


class _Claim(NamedTuple):
    """One of a thing, had by a task from a planned tick to another."""

    first: int
    last: int
    task: int
    curves: tuple[str, ...]
    head_start: int


def turns_of(problem: Problem, places: Mapping[int, Placement]) -> dict[int, list[Turn]]:
    """Return by task (index) the turns it waits for so that no more of them share anything at
    once than in the plan: of each thing's pieces, each goes from hand to hand in planned order."""
    turns: dict[int, list[Turn]] = defaultdict(list)
    for capacity, claims in _things(problem, places):
        pieces: list[_Claim] = []
        for claim in sorted(claims):
            over = [piece for piece in pieces if piece.last <= claim.first]
            if len(pieces) < capacity or not pieces:
                pieces.append(claim)
                continue
            before = max(over) if over else min(pieces, key=lambda piece: piece.last)
            pieces[pieces.index(before)] = claim
            if before.task != claim.task:
                turns[claim.task].append(Turn(before.task, before.curves, claim.head_start))
    return turns


def _things(
    problem: Problem, places: Mapping[int, Placement]
) -> Iterator[tuple[int, Iterable[_Claim]]]:
    tasks = problem.tasks
    for house in problem.houses:
        if house.crews_inside is not None:
            inside = (i for i in places if tasks[i].house == house.id)
            yield house.crews_inside, [_use(places, i) for i in inside]
    for item in problem.equipment:
        users = [_use(places, i) for i in places if item.id in tasks[i].needs]
        yield item.capacity, [*users, *_kept(problem, places, item.id)]


def _use(places: Mapping[int, Placement], task: int) -> _Claim:
    return _Claim(places[task].start, places[task].end, task, (), 0)


def _kept(problem: Problem, places: Mapping[int, Placement], item: str) -> Iterator[_Claim]:
    """Yield what stays with the coats that tasks have left, in the way they are left."""
    curves: dict[str, list[str]] = defaultdict(list)
    ways = {place.task: place.way for place in places.values()}
    for wait in problem.waits:
        if item in wait.holds and wait.way in {None, ways.get(wait.before)}:
            curves[wait.before].append(wait.curve)
    for task, place in places.items():
        if names := curves.get(place.task):
            until = max(problem.curves[name].ready(place.end) for name in names)
            length = place.end - place.start
            yield _Claim(place.end, max(place.end, until), task, tuple(names), length)
