"""A Problem in whole numbers: every id is turned into an index once, so that search is quick."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from scheduling.solver.chains import chains_of
from scheduling.solver.pieces import Piece, stretches
from scheduling.solver.problem import Problem, ReadyCurve, Task, constant_lag, may_do
from scheduling.solver.shared import Thing, shared_things
from scheduling.solver.starts import StartChoices, start_choices
from scheduling.solver.ways import EVERY, LeastWait, certain_waits, ways_by_task

AT_ONCE = constant_lag(0)
SOFTER = LeastWait(((AT_ONCE,),))


class Link(NamedTuple):
    """The task (index) at the other end of a wait, and the way (number, or EVERY) in which the
    earlier of the two must be left for it to count."""

    other: int
    curve: ReadyCurve
    way: int = EVERY


class Lag(NamedTuple):
    """The task at the other end of a maximum lag of so many ticks, and the way as in a Link."""

    other: int
    ticks: int
    way: int = EVERY


class Order(NamedTuple):
    """Two tasks of which the later waits for the earlier; the way as in a Link."""

    before: int
    after: int
    curve: ReadyCurve
    way: int = EVERY


class Leaving(NamedTuple):
    """A way (number) to leave a task: the curves of all waits that count then, and what it
    holds, each with what others do with it and the curves that say how long."""

    way: int
    curves: tuple[ReadyCurve, ...]
    holds: tuple[tuple[Thing, tuple[ReadyCurve, ...]], ...]


@dataclass(frozen=True, slots=True)
class Compiled:
    """Lists are by task index unless they say otherwise.

    at: by house, its tasks.
    gaps: by house and house, the ticks between two blocks of one crew in one window.
    crews: indices of the crews that may do the task, all tasks of its run considered.
    ways: the names of the ways a task can be left in; a way's number is its place among them, and
        0 for a task that has none. leavings: what leaving it in each means, empty where it has
        neither ways nor equipment to hold. choosers: tasks with more ways than one.
    waits_into, waits_from: the softer coats of a room wait for the harder ones too.
    least_into, least_from: (other task, the least wait between the two in any plan).
    chains: units that maximum lags tie together, with what must come between, as lists of tasks;
    chained: whether a task is in a chain.
    shared: what is scarce; shared_by: what of it a task takes one of while it runs, each with
        what the others do with it.
    softer_fixed: fixed tasks of the room that leave something softer than the task does.
    floors: the latest of its release, its house's and now.
    foes_of_dusty: wet tasks in the air of a dusty one; foes_of_wet: the reverse.
    units: runs and single tasks, each a list of tasks in their order; unit_of is the index.
    members: by handover, the tasks that count towards it.
    stretches: by task that may be split and crew, where it could be worked on.
    priced: whether some window costs extra; thrifty: the choices that stay out of those.
    """

    problem: Problem
    tasks: tuple[Task, ...]
    index: dict[str, int]
    house: list[int]
    at: list[list[int]]
    gaps: list[list[int]]
    crews: list[tuple[int, ...]]
    floors: list[int]
    ways: list[tuple[str, ...]]
    leavings: list[list[Leaving]]
    choosers: frozenset[int]
    waits_into: list[list[Link]]
    waits_from: list[list[Link]]
    least_into: list[list[tuple[int, LeastWait]]]
    least_from: list[list[tuple[int, LeastWait]]]
    most_into: list[list[Lag]]
    most_from: list[list[Lag]]
    chains: list[list[int]]
    chained: list[bool]
    shared: list[Thing]
    shared_by: list[list[Thing]]
    shut_out: list[list[int]]
    softer_fixed: list[list[int]]
    foes_of_dusty: list[list[int]]
    foes_of_wet: list[list[int]]
    wet_curves: list[ReadyCurve | None]
    done: list[Callable[[int], int] | None]
    units: list[list[int]]
    unit_of: list[int]
    run_before: list[int]
    run_after: list[int]
    pins: list[Order]
    members: list[list[int]]
    crew_index: dict[str, int]
    choices: list[list[StartChoices | None]]
    thrifty: list[list[StartChoices | None]]
    stretches: dict[tuple[int, int], list[Piece]]
    priced: bool

    @property
    def ghost(self) -> int:
        """Index of the stand-in for crews that only a fixed placement names."""
        return len(self.problem.crews)

    def befores(self, task: int) -> list[int]:
        """Return the tasks that must have a place before this one: its waits and its run."""
        befores = [link.other for link in self.waits_into[task]]
        if self.run_before[task] >= 0:
            befores.append(self.run_before[task])
        return befores

    def crew_number(self, crew: str) -> int:
        """Return the index of a crew, or the ghost's when the Problem does not know it."""
        return self.crew_index.get(crew, self.ghost)

    def way_number(self, task: int, way: str | None) -> int:
        """Return the number of a task's way, EVERY for one that it does not have."""
        names = self.ways[task]
        return names.index(way) if way in names else EVERY


def compile_problem(problem: Problem) -> Compiled:
    """Return the Problem in indices; it must refer only to ids it defines."""
    tasks, count = problem.tasks, len(problem.tasks)
    index = {task.id: i for i, task in enumerate(tasks)}
    houses = {house.id: i for i, house in enumerate(problem.houses)}
    released = {house.id: house.release for house in problem.houses}
    crew_index = {crew.id: i for i, crew in enumerate(problem.crews)}
    units, unit_of = _units(tasks)
    run_before, run_after = _neighbours(units, count)
    crews = _crews(problem, units, crew_index)
    rooms = _room_mates(tasks)
    softer = _softer_mates(tasks, rooms)
    names = ways_by_task(problem)
    ways = [names.get(task.id, ()) for task in tasks]
    runs = [Order(before, after, AT_ONCE) for after, before in enumerate(run_before) if before >= 0]
    grades = [Order(before, after, AT_ONCE) for before in range(count) for after in softer[before]]
    waits = [*_waits(problem, index, ways), *grades]
    least = [*_least_waits(problem, index), *((*pair[:2], SOFTER) for pair in grades)]
    lags = [
        (index[w.before], index[w.after], w.most, _way(ways[index[w.before]], w.way))
        for w in problem.waits
        if w.most is not None
    ]
    shared = shared_things(problem)
    chains = chains_of(units, [pair[:2] for pair in waits], [pair[:2] for pair in lags])
    choices = _all_choices(problem, crews)
    curves = [problem.curves[task.wet_curve] if task.wet_curve else None for task in tasks]
    dusty = [i for i, task in enumerate(tasks) if task.dusty and task.air_space is not None]
    wet = [i for i, task in enumerate(tasks) if curves[i] and task.air_space is not None]
    return Compiled(
        problem=problem,
        tasks=tasks,
        index=index,
        house=[houses[task.house] for task in tasks],
        at=[[i for i, t in enumerate(tasks) if t.house == house.id] for house in problem.houses],
        gaps=_gaps(problem),
        crews=crews,
        floors=[max(task.release, released[task.house], problem.now) for task in tasks],
        ways=ways,
        leavings=_leavings(ways, waits, shared),
        choosers=frozenset(i for i, found in enumerate(ways) if len(found) > 1),
        waits_into=_grouped(count, ((b, Link(a, curve, way)) for a, b, curve, way in waits)),
        waits_from=_grouped(count, ((a, Link(b, curve, way)) for a, b, curve, way in waits)),
        least_into=_grouped(count, ((after, (before, wait)) for before, after, wait in least)),
        least_from=_grouped(count, ((before, (after, wait)) for before, after, wait in least)),
        most_into=_grouped(count, ((b, Lag(a, most, way)) for a, b, most, way in lags)),
        most_from=_grouped(count, ((a, Lag(b, most, way)) for a, b, most, way in lags)),
        chains=chains,
        chained=_members(chains, count),
        shared=shared,
        shared_by=_grouped(count, ((t, thing.without(t)) for thing in shared for t in thing.users)),
        shut_out=_shut_out(tasks, rooms),
        softer_fixed=[[j for j in mates if tasks[j].fixed] for mates in softer],
        foes_of_dusty=_same_air(tasks, dusty, wet),
        foes_of_wet=_same_air(tasks, wet, dusty),
        wet_curves=curves,
        done=[problem.curves[t.done_curve].ready if t.done_curve else None for t in tasks],
        units=units,
        unit_of=unit_of,
        run_before=run_before,
        run_after=run_after,
        pins=[w for w in (*waits, *runs) if tasks[w[1]].fixed and not tasks[w[0]].fixed],
        members=[
            [i for i, task in enumerate(tasks) if task.handover == handover.id]
            for handover in problem.handovers
        ],
        crew_index=crew_index,
        choices=choices,
        thrifty=_without_extra(choices),
        stretches=_stretches(problem, crews),
        priced=any(window.price for crew in problem.crews for window in crew.windows),
    )


def _grouped[T](count: int, values: Iterable[tuple[int, T]]) -> list[list[T]]:
    """Return by task the values of the (task, value) pairs."""
    groups: list[list[T]] = [[] for _ in range(count)]
    for task, value in values:
        groups[task].append(value)
    return groups


def _way(names: tuple[str, ...], way: str | None) -> int:
    return EVERY if way is None else names.index(way)


def _waits(problem: Problem, index: dict[str, int], ways: list[tuple[str, ...]]) -> Iterable[Order]:
    for wait in problem.waits:
        before = index[wait.before]
        curve, way = problem.curves[wait.curve], _way(ways[before], wait.way)
        yield Order(before, index[wait.after], curve, way)


def _least_waits(problem: Problem, index: dict[str, int]) -> Iterable[tuple[int, int, LeastWait]]:
    for before, after, groups in certain_waits(problem):
        curves = tuple(tuple(problem.curves[wait.curve] for wait in group) for group in groups)
        yield index[before], index[after], LeastWait(curves)


def _leavings(
    ways: list[tuple[str, ...]], waits: list[Order], shared: list[Thing]
) -> list[list[Leaving]]:
    """Return by task what leaving it in each of its ways means; see Compiled."""
    holds: dict[tuple[int, int], list[tuple[Thing, tuple[ReadyCurve, ...]]]] = {}
    for thing in shared:
        for task, way, curves in thing.holders:
            holds.setdefault((task, way), []).append((thing.without(task), curves))
    waits_from = _grouped(len(ways), ((pair.before, pair) for pair in waits))
    leavings: list[list[Leaving]] = [[] for _ in ways]
    for task in {task for task, _ in holds} | {task for task, names in enumerate(ways) if names}:
        for way in range(max(1, len(ways[task]))):
            curves = tuple(pair.curve for pair in waits_from[task] if pair.way in {EVERY, way})
            leavings[task].append(Leaving(way, curves, tuple(holds.get((task, way), ()))))
    return leavings


def _members(groups: list[list[int]], count: int) -> list[bool]:
    """Return by task whether it is in one of the groups."""
    inside = {task for group in groups for task in group}
    return [task in inside for task in range(count)]


def _units(tasks: tuple[Task, ...]) -> tuple[list[list[int]], list[int]]:
    """Group tasks by run in the order of the Problem; a task without a run is its own unit."""
    groups: dict[tuple[str, str], list[int]] = {}
    for i, task in enumerate(tasks):
        groups.setdefault(("task", task.id) if task.run is None else ("run", task.run), []).append(
            i
        )
    units = list(groups.values())
    unit_of = [0] * len(tasks)
    for number, unit in enumerate(units):
        for task_number in unit:
            unit_of[task_number] = number
    return units, unit_of


def _crews(
    problem: Problem, units: list[list[int]], crew_index: dict[str, int]
) -> list[tuple[int, ...]]:
    """Return by task the crews its whole run may have.

    A run already begun by the crew of its last fixed task stays with it, if it may do the rest.
    """
    crews: list[tuple[int, ...]] = [()] * len(problem.tasks)
    for unit in units:
        free = [problem.tasks[i] for i in unit if problem.tasks[i].fixed is None]
        able = tuple(
            number
            for number, crew in enumerate(problem.crews)
            if all(may_do(task, crew) for task in free)
        )
        held = [fixed.crew for i in unit if (fixed := problem.tasks[i].fixed)]
        if held and crew_index.get(held[-1]) in able:
            able = (crew_index[held[-1]],)
        for i in unit:
            crews[i] = able
    return crews


def _gaps(problem: Problem) -> list[list[int]]:
    around = problem.setup_ticks + problem.washup_ticks
    return [
        [
            0 if here.id == there.id else around + problem.travel.get((here.id, there.id), 0)
            for there in problem.houses
        ]
        for here in problem.houses
    ]


def _room_mates(tasks: tuple[Task, ...]) -> list[list[int]]:
    rooms: dict[str, list[int]] = {}
    for i, task in enumerate(tasks):
        rooms.setdefault(task.room, []).append(i)
    return [[j for j in rooms[task.room] if j != i] for i, task in enumerate(tasks)]


def _shut_out(tasks: tuple[Task, ...], rooms: list[list[int]]) -> list[list[int]]:
    """Return by task those that may not run beside it: in its room, or one of the two alone."""
    houses: dict[str, list[int]] = {}
    for i, task in enumerate(tasks):
        houses.setdefault(task.house, []).append(i)
    return [
        _together(rooms[i], (j for j in houses[task.house] if task.alone or tasks[j].alone), but=i)
        for i, task in enumerate(tasks)
    ]


def _together(some: Iterable[int], more: Iterable[int], *, but: int) -> list[int]:
    """Return each task of two groups once, in rising order, but for one."""
    return sorted({*some, *more} - {but})


def _softer_mates(tasks: tuple[Task, ...], rooms: list[list[int]]) -> list[list[int]]:
    """Return by task those in its room that leave something softer, and so must come later."""
    grades = [task.grade for task in tasks]
    return [
        [j for j in rooms[i] if (other := grades[j]) is not None and other < grade]
        if (grade := grades[i]) is not None
        else []
        for i in range(len(tasks))
    ]


def _same_air(tasks: tuple[Task, ...], ones: list[int], others: list[int]) -> list[list[int]]:
    """Return for each of ``ones`` those of ``others`` that share its air."""
    foes: list[list[int]] = [[] for _ in tasks]
    for i in ones:
        foes[i] = [j for j in others if j != i and tasks[j].air_space == tasks[i].air_space]
    return foes


def _neighbours(units: list[list[int]], count: int) -> tuple[list[int], list[int]]:
    """Return by task the task before and after it in its run, -1 where there is none."""
    before, after = [-1] * count, [-1] * count
    for unit in units:
        for one, other in pairwise(unit):
            before[other], after[one] = one, other
    return before, after


def _all_choices(problem: Problem, crews: list[tuple[int, ...]]) -> list[list[StartChoices | None]]:
    """Return by task and crew where it may start; tasks alike in all that matters share one."""
    access = {house.id: house.access for house in problem.houses}
    known: dict[object, StartChoices] = {}
    table: list[list[StartChoices | None]] = []
    for i, task in enumerate(problem.tasks):
        row: list[StartChoices | None] = [None] * len(problem.crews)
        for number in crews[i] if task.fixed is None else ():
            minutes = (task.minutes_by_crew or {}).get(problem.crews[number].id)
            work = (task.person_minutes, minutes, task.batch_ticks, task.split, task.skills)
            place = task.house if problem.crews[number].base is not None else ""
            key = (number, work, task.starts, task.open, access[task.house], place)
            if key not in known:
                known[key] = start_choices(task, access[task.house], problem.crews[number], problem)
            row[number] = known[key]
        table.append(row)
    return table


def _without_extra(table: list[list[StartChoices | None]]) -> list[list[StartChoices | None]]:
    """Return the choices by task and crew that cost nothing extra; those shared stay shared."""
    kept = {id(row): row for rows in table for row in rows if row is not None}
    known = {name: row.without_extra() for name, row in kept.items()}
    return [[row and known[id(row)] for row in rows] for rows in table]


def _stretches(
    problem: Problem, crews: list[tuple[int, ...]]
) -> dict[tuple[int, int], list[Piece]]:
    """Return by task that may be split, and crew that may or does work on it, where it can."""
    access = {house.id: house.access for house in problem.houses}
    return {
        (i, number): stretches(task, access[task.house], crew, problem)
        for i, task in enumerate(problem.tasks)
        if task.split
        for number, crew in enumerate(problem.crews)
        if number in crews[i] or (task.fixed and task.fixed.crew == crew.id)
    }
