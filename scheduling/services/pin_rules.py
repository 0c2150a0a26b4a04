"""Which rules work would break at places that somebody wants it pinned to."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from scheduling.solver.compiled import Compiled, compile_problem
from scheduling.solver.construct import in_order, place_ready
from scheduling.solver.draft import Draft, empty_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.verify import verify


@dataclass(frozen=True)
class Stuck:
    """A place that will not do, and the rules that it breaks: at least one."""

    place: Placement
    broken: tuple[Violation, ...]


def first_stuck(
    problem: Problem, places: Sequence[Placement], pinned: Collection[str]
) -> Stuck | None:
    """Return the first of the places that will not do, each judged beside those before it.

    A place is held against work under way, other pins, and what has to be done before it: where
    that is frozen, else as early as it can be. Nothing else is looked at: the rest of the plan,
    frozen or not, gives way to a pin.
    """
    problem = _let_go(problem, {place.task for place in places})
    pinned = set(pinned) - {place.task for place in places}
    for place in places:
        alone = what_counts(problem, {place.task}, pinned)
        draft = all_but(compile_problem(alone), {place.task}, place.crew)
        found = (*draft.placements(), place)
        outcome = Outcome(Status.FEASIBLE, found, score_of(alone, found))
        broken = tuple(
            fault
            for fault in verify(held_to_the_rules(alone), outcome)
            if place.task in (fault.task, fault.other)
        )
        if broken:
            return Stuck(place, telling_first(broken))
        problem = _with(problem, place)
        pinned.add(place.task)
    return None


def telling_first(broken: Iterable[Violation]) -> tuple[Violation, ...]:
    """Return broken rules with the harder coat over a softer one last: what comes too early in its
    room breaks that too, and the wait that it breaks says more."""
    return tuple(sorted(broken, key=lambda fault: fault.code == "grade"))


def what_counts(problem: Problem, names: Collection[str], pinned: Collection[str]) -> Problem:
    """Return the problem of some tasks (let go), of all they come after, of work under way and of
    pinned work."""
    kept = _all_before(problem, names)
    tasks = tuple(
        replace(task, fixed=None) if task.id in names else task
        for task in problem.tasks
        if task.id in kept or (task.fixed and (task.id in pinned or task.fixed.start < problem.now))
    )
    known = {task.id for task in tasks}
    waits = tuple(w for w in problem.waits if {w.before, w.after} <= known)
    due = {task.handover for task in tasks}
    handovers = tuple(row for row in problem.handovers if row.id in due)
    return replace(problem, tasks=tasks, waits=waits, handovers=handovers)


def all_but(compiled: Compiled, names: Collection[str], crew: str) -> Draft:
    """Return a draft with everything but some tasks; their runs go to the crew of this id."""
    draft = empty_draft(compiled)
    left_out = {compiled.index[name] for name in names}
    wanted = compiled.crew_number(crew)
    for unit in in_order(compiled, float):
        mine = left_out.intersection(unit)
        with_them = mine and all(wanted in compiled.crews[task] for task in mine)
        rest = [task for task in unit if task not in mine]
        place_ready(draft, rest, (wanted,) if with_them else None)
    return draft


def _all_before(problem: Problem, names: Collection[str]) -> set[str]:
    """Return tasks with all that must be done before them, by waits and by their runs."""
    befores: dict[str, set[str]] = {}
    for wait in problem.waits:
        befores.setdefault(wait.after, set()).add(wait.before)
    last_of_run: dict[str, str] = {}
    for task in problem.tasks:
        if task.run in last_of_run:
            befores.setdefault(task.id, set()).add(last_of_run[task.run])
        if task.run:
            last_of_run[task.run] = task.id
    found, todo = set(names), list(names)
    while todo:
        new = befores.get(todo.pop(), set()) - found
        found |= new
        todo.extend(new)
    return found


def _let_go(problem: Problem, names: Collection[str]) -> Problem:
    """Return the problem with some tasks free to be placed anywhere: a pin that is made anew does
    not stand in its own way."""
    tasks = tuple(replace(t, fixed=None) if t.id in names else t for t in problem.tasks)
    return replace(problem, tasks=tasks)


def _with(problem: Problem, place: Placement) -> Problem:
    tasks = tuple(replace(t, fixed=place) if t.id == place.task else t for t in problem.tasks)
    return replace(problem, tasks=tasks)
