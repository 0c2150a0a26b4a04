"""Which stays of dryers could be tried next, given a plan and the stays it has."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, combinations, zip_longest

from scheduling.solver.drying_beside import DryingBeside
from scheduling.solver.evaluate import day_of
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.stays import Dryer, Fleet, Stay, Units, same_unit, units_beside

type Stays = tuple[Stay, ...]


class Moves:
    """Changes to the stays of a plan that are worth a look.

    problem: without any stay. Only tasks that are not fixed can take longer, so units are set
    down and collected in those alone, in the first of each visit.
    """

    def __init__(self, problem: Problem, fleet: Fleet, placements: Sequence[Placement]) -> None:
        self.problem = problem
        self.dryers = fleet.by_id()
        self.drying = DryingBeside(problem, fleet, placements)
        self.house = {task.id: task.house for task in problem.tasks}
        self.places = {place.task: place for place in placements}
        self.by_house: dict[str, list[Placement]] = {}
        for place in sorted(placements, key=lambda place: (place.start, place.task)):
            self.by_house.setdefault(self.house[place.task], []).append(place)
        self.visits = _visits(problem, self.by_house)

    def around(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stays]:
        """Yield what differs from stays by one in ``houses`` that comes, by one that goes or by
        one with another beginning or end; by turns with that, by several that come at once, and
        by two that have each other's dryers or one that comes where another is cut for it."""
        for found in _by_turns(
            self._one_other(stays, houses),
            self._several_more(stays, houses),
            chain(self._exchanged(stays), self._cut(stays, houses)),
        ):
            yield found
            if (trimmed := self.trimmed(found)) != found:
                yield trimmed

    def trimmed(self, stays: Stays) -> Stays:
        """Return stays less the coats that, where the plan has them, are still wet when a unit
        beside them is collected: those dry with what stands on."""
        beside = units_beside(stays)
        for coat, units in beside.items():
            having = [number for number, stay in enumerate(stays) if coat in stay.coats]
            first = min(having, key=lambda number: self.places[stays[number].collect_in].start)
            collected = self.places[stays[first].collect_in].start
            dry = self.drying.with_units(coat, units)
            if dry and dry.latest > collected:
                coats = tuple(other for other in stays[first].coats if other != coat)
                shorter = replace(stays[first], coats=coats)
                return self.trimmed((*stays[:first], shorter, *stays[first + 1 :]))
        return stays

    def ticks(self, stays: Stays) -> int:
        """Return how long units stand, in all, from the end of one task to that of the other."""
        return sum(
            self.places[stay.collect_in].end - self.places[stay.set_in].end for stay in stays
        )

    def new_in(
        self, houses: Sequence[str], stays: Stays = (), groups: Iterable[Units] | None = None
    ) -> Iterator[Stays]:
        """Yield stays that units make together, each the first of its dryer, from one task to
        another: of all houses and groups of units by turns (single units by default), those that
        shorten waits most first. Those of ``stays`` stand too."""
        beside = units_beside(stays)
        singles = [(name,) for name in self.dryers]
        yield from _by_turns(
            *(
                sorted(
                    self._in_house(units, house, beside),
                    key=lambda new: self._shorter(new, beside),
                    reverse=True,
                )
                for house in houses
                for units in (singles if groups is None else groups)
            )
        )

    def _one_other(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stays]:
        for stay in self._new(stays, houses):
            yield from self._with(stays, stay)
            yield self._instead(stays, stay)
        for number in range(len(stays)):
            rest = stays[:number] + stays[number + 1 :]
            yield rest
            for other in self._others(stays[number], rest):
                yield from self._with(rest, other)

    def _several_more(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stays]:
        """Yield what has several units more; where they stand elsewhere then, they go there
        afterwards, before, or not at all."""
        for new in self.new_in(houses, stays, self.drying.several):
            for joined in (self._after, self._before_all, self._instead):
                yield from self._placed(new, stays, joined)

    def _placed(
        self,
        new: Stays,
        stays: Stays,
        joined: Callable[[Stays, Stay], Stays],
        placed: Stay | None = None,
    ) -> Iterator[Stays]:
        """Yield stays with those of ``new``, each given to one unit or another."""
        if not new:
            yield stays
            return
        first, *rest = new
        for unit in _units(self.dryers[first.dryer], stays):
            one = replace(first, unit=unit)
            # Units of one dryer are alike: those of a group come in order.
            if not placed or placed.dryer != one.dryer or placed.unit < unit:
                yield from self._placed(tuple(rest), joined(stays, one), joined, one)

    def _instead(self, stays: Stays, new: Stay) -> Stays:
        """Return stays with a new one, those of its unit that clash with it left out."""
        return self._in_order((*(old for old in stays if not self._clash(old, new)), new))

    def _after(self, stays: Stays, new: Stay) -> Stays:
        *_, last = self._with(stays, new)
        return last

    def _before_all(self, stays: Stays, new: Stay) -> Stays:
        return next(self._with(stays, new))

    def _exchanged(self, stays: Stays) -> Iterator[Stays]:
        """Yield stays of which two have each other's dryers."""
        for (here, one), (there, two) in combinations(enumerate(stays), 2):
            if one.dryer == two.dryer:
                continue
            rest = stays[:here] + stays[here + 1 : there] + stays[there + 1 :]
            for first in _not_twice(replace(one, dryer=two.dryer, unit=two.unit), rest):
                for second in _not_twice(replace(two, dryer=one.dryer, unit=one.unit), rest):
                    for found in self._with(rest, first):
                        yield from self._with(found, second)

    def _cut(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stays]:
        for new in self._new(stays, houses):
            for number, old in enumerate(stays):
                if self._clash(old, new) or not {*old.coats}.isdisjoint(new.coats):
                    rest = stays[:number] + stays[number + 1 :]
                    for other in self._others(old, (*rest, new)):
                        yield from self._with(self._in_order((*rest, other)), new)

    def _new(self, stays: Stays, houses: Sequence[str]) -> Iterator[Stay]:
        for (stay,) in self.new_in(houses, stays):
            for unit in _units(self.dryers[stay.dryer], stays):
                yield from _not_twice(replace(stay, unit=unit), stays)

    def _shorter(self, new: Stays, beside: Mapping[str, Units]) -> int:
        """Return the ticks by which coats, where the plan has them, are dry earlier."""
        more = tuple(stay.dryer for stay in new)
        return sum(
            self.drying.total(coat, beside.get(coat, ()))
            - self.drying.total(coat, _joined(beside.get(coat, ()), more))
            for coat in new[0].coats
        )

    def _others(self, old: Stay, rest: Stays) -> Iterator[Stay]:
        """Yield the stays of the same unit that begin or end with one, and it with other coats."""
        for (stay,) in self._in_house((old.dryer,), self.house[old.set_in], units_beside(rest)):
            shares = stay.set_in == old.set_in or stay.collect_in == old.collect_in
            other = replace(stay, unit=old.unit)
            if shares and other != old:
                yield from _not_twice(other, rest)

    def _in_house(self, units: Units, house: str, beside: Mapping[str, Units]) -> Iterator[Stays]:
        """Yield stays of units from one task to another, with all coats that they help."""
        visits = self.visits.get(house, [])
        for number, down in enumerate(visits):
            for up in visits[number + 1 :]:
                coats = tuple(
                    place.task
                    for place in self.by_house[house]
                    if self._dries(place, down, up, _joined(beside.get(place.task, ()), units))
                )
                if coats:
                    yield tuple(Stay(name, 0, down.task, up.task, coats) for name in units)

    def _dries(self, coat: Placement, down: Placement, up: Placement, units: Units) -> bool:
        """Return whether a coat, where the plan has it, dries with all units standing by it."""
        if coat.task != down.task and coat.start < down.end:
            return False
        dry = self.drying.with_units(coat.task, units)
        return dry is not None and dry.latest <= up.start

    def _with(self, stays: Stays, new: Stay) -> Iterator[Stays]:
        """Yield stays with one more: before and after those with which it clashes."""
        clashing = [number for number, stay in enumerate(stays) if self._clash(stay, new)]
        if not clashing:
            yield self._in_order((*stays, new))
            return
        for at in (clashing[0], clashing[-1] + 1):
            yield (*stays[:at], new, *stays[at:])

    def _clash(self, one: Stay, two: Stay) -> bool:
        return same_unit(one, two) and not (self._before(one, two) or self._before(two, one))

    def _before(self, one: Stay, two: Stay) -> bool:
        return self.places[one.collect_in].end <= self.places[two.set_in].start

    def _in_order(self, stays: Stays) -> Stays:
        return tuple(sorted(stays, key=lambda stay: self.places[stay.set_in].start))


def _not_twice(new: Stay, stays: Stays) -> Iterator[Stay]:
    """Yield a stay with the coats that the same unit does not stand beside anyway."""
    has = {coat for stay in stays if same_unit(stay, new) for coat in stay.coats}
    if coats := tuple(coat for coat in new.coats if coat not in has):
        yield replace(new, coats=coats)


def _joined(units: Units, more: Units) -> Units:
    return tuple(sorted((*units, *more)))


def _by_turns[T](*found: Iterable[T]) -> Iterator[T]:
    """Yield the first of each, then the second of each, and so on."""
    for turn in zip_longest(*found):
        yield from (one for one in turn if one is not None)


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
