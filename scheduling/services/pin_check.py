"""Whether a task may be pinned to a place, and if not, which rule is broken and what would do."""

from dataclasses import dataclass, replace

from scheduling.services.frozen import held_to_the_rules
from scheduling.solver.compiled import compile_problem
from scheduling.solver.construct import in_order, place_ready
from scheduling.solver.draft import Draft, empty_draft
from scheduling.solver.evaluate import score_of
from scheduling.solver.homes import homes_of
from scheduling.solver.nearest import choices_near
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.verify import verify


@dataclass(frozen=True)
class PinCheck:
    """broken: the rules that the place breaks, none where it will do. nearest: the place nearest
    to it that will do, with the same crew if there is one; None where there is none."""

    broken: tuple[Violation, ...]
    nearest: Placement | None = None


def check_pin(problem: Problem, place: Placement) -> PinCheck:
    """Check a place for a task against what is fixed in the problem and what has to be done
    before it, each of that as early as it can be.

    Nothing else is looked at: the rest of the plan gives way to a pin.
    """
    alone = _with_what_comes_before(problem, place.task)
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


def _with_what_comes_before(problem: Problem, name: str) -> Problem:
    """Return the problem of a task (not fixed), the fixed ones, and all it comes after."""
    before: dict[str, set[str]] = {}
    for wait in problem.waits:
        before.setdefault(wait.after, set()).add(wait.before)
    last_of_run: dict[str, str] = {}
    for task in problem.tasks:
        if task.run and task.run in last_of_run:
            before.setdefault(task.id, set()).add(last_of_run[task.run])
        if task.run:
            last_of_run[task.run] = task.id
    kept, todo = {name}, [name]
    while todo:
        new = before.get(todo.pop(), set()) - kept
        kept |= new
        todo.extend(new)
    tasks = tuple(
        replace(task, fixed=None) if task.id == name else task
        for task in problem.tasks
        if task.id in kept or task.fixed
    )
    known = {task.id for task in tasks}
    waits = tuple(w for w in problem.waits if {w.before, w.after} <= known)
    due = {task.handover for task in tasks}
    handovers = tuple(row for row in problem.handovers if row.id in due)
    return replace(problem, tasks=tasks, waits=waits, handovers=handovers)


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
    choices = choices_near(draft, homes_of(compiled, [place]), task, every=True)
    wanted = compiled.crew_number(place.crew)
    best = next((p for _, p in choices if p.crew == wanted), choices[0][1] if choices else None)
    if best is None:
        return None
    crew = compiled.problem.crews[best.crew].id
    return Placement(place.task, crew, best.start, best.end)
