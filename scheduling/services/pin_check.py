"""Whether a task may be pinned to a place, and if not, which rule is broken and what would do."""

from collections.abc import Collection
from dataclasses import dataclass, replace

from scheduling.solver.change import Current
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import in_order, place_ready
from scheduling.solver.draft import Draft, empty_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.homes import homes_of
from scheduling.solver.nearest import choices_near
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.verify import verify


@dataclass(frozen=True)
class PinCheck:
    """broken: the rules that the place breaks, none where it will do. nearest: the place nearest
    to it that will do, with the same crew if there is one; None where there is none."""

    broken: tuple[Violation, ...]
    nearest: Placement | None = None


def check_pin(problem: Problem, place: Placement, pinned: Collection[str]) -> PinCheck:
    """Check a place for a task against work under way, other pins, and what has to be done before
    it: where that is frozen, else as early as it can be.

    Nothing else is looked at: the rest of the plan, frozen or not, gives way to a pin.
    """
    alone = _with_what_comes_before(problem, place.task, pinned)
    draft = _all_but(alone, place)
    places = tuple(p for p in draft.placements() if p.task != place.task)
    found = (*places, place)
    outcome = Outcome(Status.FEASIBLE, found, score_of(alone, found))
    broken = tuple(
        violation
        for violation in verify(held_to_the_rules(alone), outcome)
        if place.task in (violation.task, violation.other)
    )
    return PinCheck(broken, _nearest(draft, place) if broken else None)


def _with_what_comes_before(problem: Problem, name: str, pinned: Collection[str]) -> Problem:
    """Return the problem of a task (not fixed), of all it comes after, of work under way and of
    pinned work."""
    kept = _all_before(problem, name)
    tasks = tuple(
        replace(task, fixed=None) if task.id == name else task
        for task in problem.tasks
        if task.id in kept or (task.fixed and (task.id in pinned or task.fixed.start < problem.now))
    )
    known = {task.id for task in tasks}
    waits = tuple(w for w in problem.waits if {w.before, w.after} <= known)
    due = {task.handover for task in tasks}
    handovers = tuple(row for row in problem.handovers if row.id in due)
    return replace(problem, tasks=tasks, waits=waits, handovers=handovers)


def _all_before(problem: Problem, name: str) -> set[str]:
    """Return a task with all that must be done before it, by waits and by its runs."""
    befores: dict[str, set[str]] = {}
    for wait in problem.waits:
        befores.setdefault(wait.after, set()).add(wait.before)
    last_of_run: dict[str, str] = {}
    for task in problem.tasks:
        if task.run in last_of_run:
            befores.setdefault(task.id, set()).add(last_of_run[task.run])
        if task.run:
            last_of_run[task.run] = task.id
    found, todo = {name}, [name]
    while todo:
        new = befores.get(todo.pop(), set()) - found
        found |= new
        todo.extend(new)
    return found


def _all_but(problem: Problem, place: Placement) -> Draft:
    """Return a draft with everything but the task; its run goes to the crew that is asked for."""
    compiled = compile_problem(problem)
    draft = empty_draft(compiled)
    mine = compiled.index[place.task]
    wanted = compiled.crew_number(place.crew)
    for unit in in_order(compiled, float):
        rest = [task for task in unit if task != mine]
        with_it = mine in unit and wanted in compiled.crews[mine]
        place_ready(draft, rest, (wanted,) if with_it else None)
    return draft


def _nearest(draft: Draft, place: Placement) -> Placement | None:
    compiled = draft.compiled
    task = compiled.index[place.task]
    choices = choices_near(draft, homes_of(compiled, Current((place,))), task, every=True)
    wanted = compiled.crew_number(place.crew)
    best = next((p for _, p in choices if p.crew == wanted), choices[0][1] if choices else None)
    if best is None:
        return None
    crew = compiled.problem.crews[best.crew].id
    return Placement(place.task, crew, best.start, best.end)
