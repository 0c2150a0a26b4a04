"""Why a task cannot be planned: a smallest set of rules found that together leave it no place.

Rules are set aside one by one; one without which there is still no place is not part of the
conflict, and stays aside. What remains conflicts, and no smaller part of it does.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from scheduling.solver.construct import construct
from scheduling.solver.problem import Crew, Problem, Task, Window


@dataclass(frozen=True, slots=True)
class Ground:
    """A rule that can be set aside.

    Codes: ``skill`` (of ``subject``, a task: its skills and named crews), ``hours`` (of all
    crews), ``access`` (of a house), ``starts`` (of a task: when it may begin), ``closed`` (a
    task's area, ``open``), ``release`` (of a task and of its house), ``wait`` (``subject`` after
    ``other``), ``fixed`` (a task that stays where it is) and ``load`` (all other work).
    """

    code: str
    subject: str = ""
    other: str = ""


def conflict(problem: Problem, task: str) -> tuple[Ground, ...]:
    """Return rules that together leave a task no place, none of which could be spared.

    Empty where the task can be placed after all, or cannot even without every rule named.
    Whether there is a place is asked of the first plan, which might miss one in a crowd: the set
    is the smallest found, not proved.
    """
    problem = _released_by_task(problem)
    names = _with_all_before(problem, task)
    grounds = _grounds(problem, names)
    if _has_place(problem, task, names, grounds) or not _has_place(problem, task, names, ()):
        return ()
    kept = grounds
    for ground in grounds:
        fewer = tuple(other for other in kept if other != ground)
        if not _has_place(problem, task, names, fewer):
            kept = fewer
    return kept


def _released_by_task(problem: Problem) -> Problem:
    """Return the problem with the releases of houses told of their tasks instead."""
    opened = {house.id: house.release for house in problem.houses}
    return replace(
        problem,
        houses=tuple(replace(house, release=0) for house in problem.houses),
        tasks=tuple(
            replace(task, release=max(task.release, opened[task.house])) for task in problem.tasks
        ),
    )


def _with_all_before(problem: Problem, task: str) -> frozenset[str]:
    """Return a task and all that has to come before it: by waits and by the order of runs."""
    before: dict[str, list[str]] = {}
    last: dict[str, str] = {}
    for wait in problem.waits:
        before.setdefault(wait.after, []).append(wait.before)
    for mate in problem.tasks:
        if mate.run is not None:
            if mate.run in last:
                before.setdefault(mate.id, []).append(last[mate.run])
            last[mate.run] = mate.id
    names, todo = {task}, [task]
    while todo:
        fresh = set(before.get(todo.pop(), ())) - names
        names |= fresh
        todo += fresh
    return frozenset(names)


def _grounds(problem: Problem, names: frozenset[str]) -> tuple[Ground, ...]:
    """Return the rules in force, those first that are set aside first: the least telling."""
    mine = [task for task in problem.tasks if task.id in names]
    waits = {(w.after, w.before) for w in problem.waits if {w.after, w.before} <= names}
    opens = {house.id for house in problem.houses if house.access is not None}
    found = [Ground("load")] if len(mine) < len(problem.tasks) else []
    found += [Ground("fixed", task.id) for task in problem.tasks if task.fixed]
    found += [Ground("wait", after, before) for after, before in sorted(waits)]
    found += [Ground("release", task.id) for task in mine if task.release > problem.now]
    found += [Ground("access", house) for house in sorted({t.house for t in mine} & opens)]
    found += [Ground("closed", task.id) for task in mine if task.open is not None]
    found += [Ground("starts", task.id) for task in mine if task.starts is not None]
    found += [Ground("skill", task.id) for task in mine if task.skills or task.crews is not None]
    return (*found, Ground("hours"))


def _has_place(problem: Problem, task: str, names: frozenset[str], kept: Iterable[Ground]) -> bool:
    """Return whether the task finds a place where only the rules kept are in force."""
    looser = _relaxed(problem, names, frozenset(kept))
    return all(item.task != task for item in construct(looser).unplaced)


def _relaxed(problem: Problem, names: frozenset[str], kept: frozenset[Ground]) -> Problem:
    """Return the problem of the named tasks, and of others as far as those rules say."""
    tasks = tuple(
        _loosened(task, kept) if task.id in names else task
        for task in problem.tasks
        if task.id in names
        or (task.fixed and Ground("fixed", task.id) in kept)
        or (task.fixed is None and Ground("load") in kept)
    )
    there = {task.id for task in tasks}
    return replace(
        problem,
        tasks=tasks,
        waits=tuple(
            wait
            for wait in problem.waits
            if {wait.before, wait.after} <= there
            and (wait.after not in names or Ground("wait", wait.after, wait.before) in kept)
        ),
        houses=tuple(
            house if Ground("access", house.id) in kept else replace(house, access=None)
            for house in problem.houses
        ),
        crews=problem.crews if Ground("hours") in kept else _always_there(problem),
    )


def _loosened(task: Task, kept: frozenset[Ground]) -> Task:
    def holds(code: str) -> bool:
        return Ground(code, task.id) in kept

    return replace(
        task,
        fixed=task.fixed if holds("fixed") else None,
        release=task.release if holds("release") else 0,
        open=task.open if holds("closed") else None,
        starts=task.starts if holds("starts") else None,
        skills=task.skills if holds("skill") else frozenset(),
        crews=task.crews if holds("skill") else None,
    )


def _always_there(problem: Problem) -> tuple[Crew, ...]:
    """Return the crews as if they worked day and night, as many as in their first window."""
    return tuple(
        replace(crew, windows=(Window(0, problem.horizon, 0, heads),))
        for crew in problem.crews
        for heads in [crew.windows[0].heads if crew.windows else 1]
    )
