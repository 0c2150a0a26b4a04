"""Dryers as a scarce resource: where units stand, said in the words that a Problem has anyway.

A unit is set down by the crew that does one task of a house and collected by the one that does a
later task; both take longer for it. In between it is taken. A coat has the wait with a unit, or
with several, only where all of them stand from the coat's end until it is dry, and plain waits see
to that.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Problem, ReadyCurve, Task, Wait, constant_lag

DRYER = "dryer"
"""Reason of the waits that a stay asks for."""
AT_ONCE = "dryer:0"
"""Id of the curve of a wait that only keeps an order."""


type Units = tuple[str, ...]
"""Units beside a coat: the ids of their dryers, one for each, sorted."""
type Curves = Mapping[str, ReadyCurve]


@dataclass(frozen=True, slots=True)
class Dryer:
    """Units of one kind; move_minutes: person-minutes to set one down, and again to collect it."""

    id: str
    count: int = 1
    move_minutes: int = 0


@dataclass(frozen=True, slots=True)
class Beside:
    """How coats dry with some units in the house: by id of a Problem's curve that with them."""

    units: tuple[str, ...]
    curves: Mapping[str, ReadyCurve]


@dataclass(frozen=True, slots=True)
class Fleet:
    """Dryers, and how coats dry beside one unit of each and beside several.

    A coat is not helped where nothing is known of it and just the units beside it.
    """

    dryers: tuple[Dryer, ...] = ()
    beside: tuple[Beside, ...] = ()

    def by_id(self) -> dict[str, Dryer]:
        """Return the dryers by id."""
        return {dryer.id: dryer for dryer in self.dryers}

    def by_units(self) -> dict[Units, Curves]:
        """Return by units the curves with them."""
        return {one.units: one.curves for one in self.beside}


@dataclass(frozen=True, slots=True)
class Stay:
    """A unit in a house: set down at the end of one task, collected in a later one.

    unit: number from 0 of those of its dryer. coats: tasks (ids) that dry with it: the one in
    which it is set down, and such as begin after it and are dry before ``collect_in`` begins. A
    coat that several stays have dries with all their units.
    """

    dryer: str
    unit: int
    set_in: str
    collect_in: str
    coats: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stayed:
    """A plan and where dryers stand in it.

    saved: by stay what the plan would cost more without it, all other stays kept, in weighted
    minutes of lateness. without: the cost of the best plan found without any dryer.
    """

    outcome: Outcome
    stays: tuple[Stay, ...] = ()
    saved: tuple[int, ...] = ()
    without: int = 0


class StayFaultsError(ValueError):
    """Everything that is wrong with stays, each fault with its place."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = list(faults)
        super().__init__("\n".join(faults))


def with_stays(problem: Problem, fleet: Fleet, stays: Sequence[Stay]) -> Problem:
    """Return the problem in which dryers stand so.

    The stays of a unit follow each other as they are listed. Raises StayFaultsError with all
    faults.
    """
    if not stays:
        return problem
    by_id = fleet.by_id()
    if faults := [*_faults(problem, by_id, stays)]:
        raise StayFaultsError(faults)
    helped = _helped(problem, fleet, stays)
    return replace(
        problem,
        tasks=tuple(_helped_task(task, helped) for task in _longer(problem.tasks, by_id, stays)),
        waits=(
            *(_helped_wait(wait, helped) for wait in problem.waits),
            *_guards(stays, helped),
            *_moves(stays),
        ),
        curves={
            **problem.curves,
            **{named: ready for coat in helped.values() for named, ready in coat.values()},
            AT_ONCE: constant_lag(0),
        },
    )


def units_beside(stays: Iterable[Stay]) -> dict[str, Units]:
    """Return by coat the units that stand by it."""
    found: dict[str, list[str]] = {}
    for stay in stays:
        for coat in stay.coats:
            found.setdefault(coat, []).append(stay.dryer)
    return {coat: tuple(sorted(units)) for coat, units in found.items()}


def same_unit(one: Stay, other: Stay) -> bool:
    """Return whether two stays are of the same unit."""
    return (one.dryer, one.unit) == (other.dryer, other.unit)


def moved_on(one: Stay, following: Stay) -> Wait:
    """Return what keeps a unit from being set down before it has been collected elsewhere."""
    return Wait(one.collect_in, following.set_in, AT_ONCE, DRYER)


def curves_by_coat(problem: Problem) -> dict[str, list[str]]:
    """Return by task (id) the ids of all curves by which what it leaves gets ready."""
    found = {
        task.id: [curve for curve in (task.wet_curve, task.done_curve) if curve]
        for task in problem.tasks
    }
    for wait in problem.waits:
        found[wait.before].append(wait.curve)
    return {task: list(dict.fromkeys(curves)) for task, curves in found.items()}


type Helped = Mapping[str, Mapping[str, tuple[str, ReadyCurve]]]
"""By coat and curve (ids) the id and the curve with the units beside the coat."""


def _helped(problem: Problem, fleet: Fleet, stays: Iterable[Stay]) -> Helped:
    curves, by_units = curves_by_coat(problem), fleet.by_units()
    return {
        coat: {
            curve: (f"{curve}:{'+'.join(units)}", by_units[units][curve])
            for curve in curves[coat]
            if curve in by_units.get(units, {})
        }
        for coat, units in units_beside(stays).items()
    }


def _longer(
    tasks: Iterable[Task], dryers: Mapping[str, Dryer], stays: Iterable[Stay]
) -> Iterator[Task]:
    more: Counter[str] = Counter()
    for stay in stays:
        for task in (stay.set_in, stay.collect_in):
            more[task] += dryers[stay.dryer].move_minutes
    for one in tasks:
        own = one.minutes_by_crew
        yield replace(
            one,
            person_minutes=one.person_minutes + more[one.id],
            minutes_by_crew=own and {crew: least + more[one.id] for crew, least in own.items()},
        )


def _helped_wait(wait: Wait, helped: Helped) -> Wait:
    found = helped.get(wait.before, {}).get(wait.curve)
    return replace(wait, curve=found[0]) if found else wait


def _helped_task(task: Task, helped: Helped) -> Task:
    if not (known := helped.get(task.id)):
        return task

    def of(curve: str | None) -> str | None:
        return known[curve][0] if curve and curve in known else curve

    return replace(task, wet_curve=of(task.wet_curve), done_curve=of(task.done_curve))


def _guards(stays: Iterable[Stay], helped: Helped) -> Iterator[Wait]:
    """Yield what keeps each unit standing from the ends of its coats until they are dry."""
    for stay in stays:
        yield Wait(stay.set_in, stay.collect_in, AT_ONCE, DRYER)
        for coat in stay.coats:
            if coat != stay.set_in:
                yield Wait(stay.set_in, coat, AT_ONCE, DRYER)
            for named, _ in helped[coat].values():
                yield Wait(coat, stay.collect_in, named, DRYER)


def _moves(stays: Iterable[Stay]) -> Iterator[Wait]:
    by_unit: dict[tuple[str, int], list[Stay]] = {}
    for stay in stays:
        by_unit.setdefault((stay.dryer, stay.unit), []).append(stay)
    for of_unit in by_unit.values():
        for one, following in pairwise(of_unit):
            yield moved_on(one, following)


def _faults(problem: Problem, dryers: Mapping[str, Dryer], stays: Sequence[Stay]) -> Iterator[str]:
    house = {task.id: task.house for task in problem.tasks}
    by_unit = Counter((stay.dryer, stay.unit, coat) for stay in stays for coat in stay.coats)
    for number, stay in enumerate(stays):
        here = f"$.stays[{number}]"
        if stay.dryer not in dryers:
            yield f"{here}.dryer: {stay.dryer!r} is not known"
        elif not 0 <= stay.unit < dryers[stay.dryer].count:
            yield f"{here}.unit: {stay.dryer!r} has {dryers[stay.dryer].count}"
        if stay.set_in == stay.collect_in:
            yield f"{here}.collect_in: {stay.collect_in!r} is where it is set down"
        for name in dict.fromkeys((stay.set_in, stay.collect_in, *stay.coats)):
            if name not in house:
                yield f"{here}: the task {name!r} is not known"
            elif house[name] != house.get(stay.set_in, house[name]):
                yield f"{here}: {name!r} is in another house than {stay.set_in!r}"
        if stay.collect_in in stay.coats:
            yield f"{here}.coats: {stay.collect_in!r} is where it is collected"
        for coat in stay.coats:
            if (times := by_unit[stay.dryer, stay.unit, coat]) > 1:
                yield f"{here}.coats: {coat!r} is beside this unit {times} times"
