"""Dryers as a scarce resource: where units stand, said in the words that a Problem has anyway.

A unit is set down by the crew that does one task of a house and collected by the one that does a
later task; both take longer for it. In between it is taken. A coat has the wait with the dryer
only where the unit stands from the coat's end until it is dry, and plain waits see to that.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import Problem, ReadyCurve, Task, Wait, constant_lag

DRYER = "dryer"
"""Reason of the waits that a stay asks for."""
AT_ONCE = "dryer:0"
"""Id of the curve of a wait that only keeps an order."""


@dataclass(frozen=True, slots=True)
class Dryer:
    """Units of one kind.

    move_minutes: person-minutes to set one down, and again to collect it. curves: by id of a
    Problem's curve that with one unit in the house; a coat without one is never helped.
    """

    id: str
    count: int = 1
    move_minutes: int = 0
    curves: Mapping[str, ReadyCurve] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Stay:
    """A unit in a house: set down at the end of one task, collected in a later one.

    unit: number from 0 of those of its dryer. coats: tasks (ids) that have its curves: the one in
    which it is set down, and such as begin after it and are dry before ``collect_in`` begins.
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


def with_stays(problem: Problem, dryers: Iterable[Dryer], stays: Sequence[Stay]) -> Problem:
    """Return the problem in which dryers stand so.

    The stays of a unit follow each other as they are listed. Raises StayFaultsError with all
    faults.
    """
    if not stays:
        return problem
    by_id = {dryer.id: dryer for dryer in dryers}
    if faults := [*_faults(problem, by_id, stays)]:
        raise StayFaultsError(faults)
    helped = {coat: by_id[stay.dryer] for stay in stays for coat in stay.coats}
    waits = tuple(_helped_wait(wait, helped) for wait in problem.waits)
    tasks = tuple(_helped_task(task, helped) for task in _longer(problem.tasks, by_id, stays))
    return replace(
        problem,
        tasks=tasks,
        waits=(*waits, *_guards(problem, by_id, stays), *_moves(stays)),
        curves={**problem.curves, **_with_curves(by_id.values()), AT_ONCE: constant_lag(0)},
    )


def curves_by_coat(problem: Problem) -> dict[str, list[str]]:
    """Return by task (id) the ids of all curves by which what it leaves gets ready."""
    found = {
        task.id: [curve for curve in (task.wet_curve, task.done_curve) if curve]
        for task in problem.tasks
    }
    for wait in problem.waits:
        found[wait.before].append(wait.curve)
    return {task: list(dict.fromkeys(curves)) for task, curves in found.items()}


def _name(curve: str, dryer: Dryer) -> str:
    return f"{curve}:{dryer.id}"


def _with_curves(dryers: Iterable[Dryer]) -> dict[str, ReadyCurve]:
    return {_name(curve, d): ready for d in dryers for curve, ready in d.curves.items()}


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


def _helped_wait(wait: Wait, helped: Mapping[str, Dryer]) -> Wait:
    dryer = helped.get(wait.before)
    if dryer and wait.curve in dryer.curves:
        return replace(wait, curve=_name(wait.curve, dryer))
    return wait


def _helped_task(task: Task, helped: Mapping[str, Dryer]) -> Task:
    if (dryer := helped.get(task.id)) is None:
        return task

    def of(curve: str | None) -> str | None:
        return _name(curve, dryer) if curve and curve in dryer.curves else curve

    return replace(task, wet_curve=of(task.wet_curve), done_curve=of(task.done_curve))


def _guards(problem: Problem, dryers: Mapping[str, Dryer], stays: Iterable[Stay]) -> Iterator[Wait]:
    """Yield what keeps each unit standing from the ends of its coats until they are dry."""
    curves = curves_by_coat(problem)
    for stay in stays:
        dryer = dryers[stay.dryer]
        yield Wait(stay.set_in, stay.collect_in, AT_ONCE, DRYER)
        for coat in stay.coats:
            if coat != stay.set_in:
                yield Wait(stay.set_in, coat, AT_ONCE, DRYER)
            for curve in curves[coat]:
                if curve in dryer.curves:
                    yield Wait(coat, stay.collect_in, _name(curve, dryer), DRYER)


def _moves(stays: Iterable[Stay]) -> Iterator[Wait]:
    by_unit: dict[tuple[str, int], list[Stay]] = {}
    for stay in stays:
        by_unit.setdefault((stay.dryer, stay.unit), []).append(stay)
    for of_unit in by_unit.values():
        for one, following in pairwise(of_unit):
            yield Wait(one.collect_in, following.set_in, AT_ONCE, DRYER)


def _faults(problem: Problem, dryers: Mapping[str, Dryer], stays: Sequence[Stay]) -> Iterator[str]:
    house = {task.id: task.house for task in problem.tasks}
    coats = Counter(coat for stay in stays for coat in stay.coats)
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
            if coats[coat] > 1:
                yield f"{here}.coats: {coat!r} is there {coats[coat]} times"
