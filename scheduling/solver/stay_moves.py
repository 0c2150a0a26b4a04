"""Which stays of dryers could be tried next, given a plan and the stays it has."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, zip_longest

from scheduling.solver.evaluate import day_of
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.stays import Dryer, Stay, curves_by_coat

type Stays = tuple[Stay, ...]


class Moves:
    """Changes to the stays of a plan that are worth a look.

    problem: without any stay. Only tasks that are not fixed can take longer, so units are set
    down and collected in those alone, in the first of each visit.
    """

    def __init__(
        self, problem: Problem, dryers: Sequence[Dryer], placements: Sequence[Placement]
    ) -> None:
        self.problem = problem
        self.dryers = {dryer.id: dryer for dryer in dryers}
        self.curves = curves_by_coat(problem)
        self.house = {task.id: task.house for task in problem.tasks}
        self.places = {place.task: place for place in placements}
        self.by_house: dict[str, list[Placement]] = {}
        for place in sorted(placements, key=lambda place: (place.start, place.task)):
            self.by_house.setdefault(self.house[place.task], []).append(place)
        self.visits = _visits(problem, self.by_house)

    def around(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stays]:
        """Yield what differs from stays by one in ``houses`` that comes, by one that goes or by
        one with another beginning or end; last by one that comes where another is cut for it."""
        new = [*self._new(stays, houses)]
        for stay in new:
            yield from self._with(stays, stay)
        for number in range(len(stays)):
            rest = stays[:number] + stays[number + 1 :]
            yield rest
            for other in self._others(stays[number], rest):
                yield from self._with(rest, other)
        for stay in new:
            for number in range(len(stays)):
                if self._clash(stays[number], stay):
                    yield from self._cut_for(stays, number, stay)

    def ticks(self, stays: Stays) -> int:
        """Return how long units stand, in all, from the end of one task to that of the other."""
        return sum(
            self.places[stay.collect_in].end - self.places[stay.set_in].end for stay in stays
        )

    def new_in(self, houses: Sequence[str], stays: Stays) -> Iterator[Stay]:
        """Yield stays of the first unit that help coats which the given ones do not, of all houses
        and dryers by turns, those that shorten waits most first."""
        by_turns = zip_longest(
            *(
                sorted(self._in_house(dryer, house, stays), key=self._shorter, reverse=True)
                for house in houses
                for dryer in self.dryers.values()
            )
        )
        yield from filter(None, chain.from_iterable(by_turns))

    def _new(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stay]:
        for stay in self.new_in(houses, stays):
            for unit in _units(self.dryers[stay.dryer], stays):
                yield replace(stay, unit=unit)

    def _shorter(self, stay: Stay) -> int:
        """Return the ticks by which coats, where the plan has them, are dry earlier."""
        with_it, curves = self.dryers[stay.dryer].curves, self.problem.curves
        return sum(
            curves[curve].ready(end) - with_it[curve].ready(end)
            for coat, end in ((coat, self.places[coat].end) for coat in stay.coats)
            for curve in self.curves[coat]
            if curve in with_it
        )

    def _others(self, old: Stay, rest: Stays) -> Iterator[Stay]:
        """Yield the stays of the same unit that begin or end with one."""
        for stay in self._in_house(self.dryers[old.dryer], self.house[old.set_in], rest):
            other = replace(stay, unit=old.unit)
            shares = other.set_in == old.set_in or other.collect_in == old.collect_in
            if shares and other != old:
                yield other

    def _cut_for(self, stays: Stays, number: int, new: Stay) -> Iterator[Stays]:
        rest = stays[:number] + stays[number + 1 :]
        for other in self._others(stays[number], (*rest, new)):
            yield from self._with(self._in_order((*rest, other)), new)

    def _in_house(self, dryer: Dryer, house: str, others: Stays) -> Iterator[Stay]:
        """Yield stays that help coats which the others do not."""
        helped = {coat for stay in others for coat in stay.coats}
        visits = self.visits.get(house, [])
        for number, down in enumerate(visits):
            for up in visits[number + 1 :]:
                coats = tuple(
                    place.task
                    for place in self.by_house[house]
                    if place.task not in helped and self._helps(dryer, place, down, up)
                )
                if coats:
                    yield Stay(dryer.id, 0, down.task, up.task, coats)

    def _helps(self, dryer: Dryer, coat: Placement, down: Placement, up: Placement) -> bool:
        """Return whether a coat, where the plan has it, dries with the unit standing by it."""
        ready = [
            dryer.curves[curve].ready(coat.end)
            for curve in self.curves[coat.task]
            if curve in dryer.curves
        ]
        beside = coat.task == down.task or coat.start >= down.end
        return bool(ready) and beside and max(ready) <= up.start

    def _with(self, stays: Stays, new: Stay) -> Iterator[Stays]:
        """Yield stays with one more: before and after those with which it clashes."""
        clashing = [number for number, stay in enumerate(stays) if self._clash(stay, new)]
        if not clashing:
            yield self._in_order((*stays, new))
            return
        for at in (clashing[0], clashing[-1] + 1):
            yield (*stays[:at], new, *stays[at:])

    def _clash(self, one: Stay, two: Stay) -> bool:
        same = (one.dryer, one.unit) == (two.dryer, two.unit)
        return same and not (self._before(one, two) or self._before(two, one))

    def _before(self, one: Stay, two: Stay) -> bool:
        return self.places[one.collect_in].end <= self.places[two.set_in].start

    def _in_order(self, stays: Stays) -> Stays:
        return tuple(sorted(stays, key=lambda stay: self.places[stay.set_in].start))


def _units(dryer: Dryer, stays: Stays) -> Iterator[int]:
    """Yield the units in use and the first that is not: all others are like it."""
    used = sorted({stay.unit for stay in stays if stay.dryer == dryer.id})
    yield from used
    yield from [unit for unit in range(dryer.count) if unit not in used][:1]


def _visits(
    problem: Problem, by_house: Mapping[str, Sequence[Placement]]
) -> dict[str, list[Placement]]:
    """Return by house the first free task of each crew on each of its days, in order of time."""
    crews = {crew.id: crew for crew in problem.crews}
    fixed = {task.id for task in problem.tasks if task.fixed}
    visits: dict[str, list[Placement]] = {}
    for house, places in by_house.items():
        first: dict[tuple[str, int], Placement] = {}
        for place in places:
            if place.task not in fixed:
                first.setdefault((place.crew, day_of(crews.get(place.crew), place.start)), place)
        visits[house] = list(first.values())
    return visits
