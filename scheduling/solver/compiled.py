"""A Problem in whole numbers: every id is turned into an index once, so that search is quick."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

from scheduling.solver.chains import chains_of
from scheduling.solver.pieces import Stretch, stretches
from scheduling.solver.problem import Problem, ReadyCurve, Task, constant_lag, may_do
from scheduling.solver.shared import shared_things
from scheduling.solver.starts import StartChoices, start_choices

AT_ONCE = constant_lag(0)


@dataclass(frozen=True, slots=True)
class Compiled:
    """Lists are by task index unless they say otherwise.

    at: by house, its tasks.
    gaps: by house and house, the ticks between two blocks of one crew in one window.
    crews: indices of the crews that may do the task, all tasks of its run considered.
    waits_into, waits_from: (other task, curve) pairs; the softer coats of a room wait for the
        harder ones too.
    most_into, most_from: (other task, ticks) pairs of the maximum lags.
    chains: units that maximum lags tie together, with what must come between, as lists of tasks;
    chained: whether a task is in a chain.
    shared: what is scarce, as (how many at once, the tasks that take one); shared_by: the same by
        task, each with the other tasks that take one.
    softer_fixed: fixed tasks of the room that leave something softer than the task does.
    floors: the latest of its release, its house's and now.
    foes_of_dusty: wet tasks in the air of a dusty one; foes_of_wet: the reverse.
    units: runs and single tasks, each a list of tasks in their order; unit_of is the index.
    pins: (before, after, curve) of the waits and run orders whose later task is fixed.
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
    waits_into: list[list[tuple[int, ReadyCurve]]]
    waits_from: list[list[tuple[int, ReadyCurve]]]
    most_into: list[list[tuple[int, int]]]
    most_from: list[list[tuple[int, int]]]
    chains: list[list[int]]
    chained: list[bool]
    shared: list[tuple[int, list[int]]]
    shared_by: list[list[tuple[int, list[int]]]]
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
    pins: list[tuple[int, int, ReadyCurve]]
    members: list[list[int]]
    crew_index: dict[str, int]
    choices: list[list[StartChoices | None]]
    thrifty: list[list[StartChoices | None]]
    stretches: dict[tuple[int, int], list[Stretch]]
    priced: bool

    @property
    def ghost(self) -> int:
        """Index of the stand-in for crews that only a fixed placement names."""
        return len(self.problem.crews)

    def befores(self, task: int) -> list[int]:
        """Return the tasks that must have a place before this one: its waits and its run."""
        befores = [before for before, _ in self.waits_into[task]]
        if self.run_before[task] >= 0:
            befores.append(self.run_before[task])
        return befores

    def crew_number(self, crew: str) -> int:
        """Return the index of a crew, or the ghost's when the Problem does not know it."""
        return self.crew_index.get(crew, self.ghost)


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
    waits = [(index[w.before], index[w.after], problem.curves[w.curve]) for w in problem.waits]
    runs = [(before, after, AT_ONCE) for after, before in enumerate(run_before) if before >= 0]
    grades = [(before, after, AT_ONCE) for before in range(count) for after in softer[before]]
    lags = [(index[w.before], index[w.after], w.most) for w in problem.waits if w.most is not None]
    shared = shared_things(problem)
    chains = chains_of(units, [pair[:2] for pair in waits + grades], [pair[:2] for pair in lags])
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
        waits_into=_grouped(count, ((after, before, c) for before, after, c in waits + grades)),
        waits_from=_grouped(count, waits + grades),
        most_into=_grouped(count, ((after, before, most) for before, after, most in lags)),
        most_from=_grouped(count, lags),
        chains=chains,
        chained=_members(chains, count),
        shared=shared,
        shared_by=_shared_by(shared, count),
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
        pins=[w for w in waits + runs if tasks[w[1]].fixed and not tasks[w[0]].fixed],
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


def _grouped[T](count: int, links: Iterable[tuple[int, int, T]]) -> list[list[tuple[int, T]]]:
    """Return by task the (other, value) of the links (task, other, value)."""
    groups: list[list[tuple[int, T]]] = [[] for _ in range(count)]
    for task, other, value in links:
        groups[task].append((other, value))
    return groups


def _shared_by(
    shared: list[tuple[int, list[int]]], count: int
) -> list[list[tuple[int, list[int]]]]:
    """Return by task what it shares, with the others that do."""
    things: list[list[tuple[int, list[int]]]] = [[] for _ in range(count)]
    for capacity, users in shared:
        for task in users:
            things[task].append((capacity, [other for other in users if other != task]))
    return things


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
        [
            j
            for j in houses[task.house]
            if j != i and (task.alone or tasks[j].alone or tasks[j].room == task.room)
        ]
        if task.alone or any(tasks[j].alone for j in houses[task.house])
        else rooms[i]
        for i, task in enumerate(tasks)
    ]


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
) -> dict[tuple[int, int], list[Stretch]]:
    """Return by task that may be split, and crew that may or does work on it, where it can."""
    access = {house.id: house.access for house in problem.houses}
    return {
        (i, number): stretches(task, access[task.house], crew, problem)
        for i, task in enumerate(problem.tasks)
        if task.split
        for number, crew in enumerate(problem.crews)
        if number in crews[i] or (task.fixed and task.fixed.crew == crew.id)
    }
