"""Published work too near to move stays, except where that can no longer hold."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.problem import Problem
from scheduling.solver.verify import verify


@dataclass(frozen=True)
class Kept:
    """A problem whose frozen tasks can all stay, and the frozen tasks set free, with the rule
    that each would have broken."""

    problem: Problem
    freed: dict[str, str]


def keep_what_holds(problem: Problem) -> Kept:
    """Free the fixed tasks that start after now and cannot stay.

    A frozen task is held to every rule as if it were newly planned: it is freed when new air or
    a late coat breaks its wait, when its crew is away, or when what it waits for is not itself
    done or kept.
    """
    freed: dict[str, str] = {}
    while broken := _broken(problem, freed):
        freed.update(broken)
    tasks = tuple(replace(task, fixed=None) if task.id in freed else task for task in problem.tasks)
    return Kept(replace(problem, tasks=tasks), freed)


def free_all(problem: Problem) -> Kept:
    """Free every fixed task that starts after now: the last resort where new work does not fit
    around those that could stay by themselves."""
    freed = {
        task.id: "around"
        for task in problem.tasks
        if task.fixed and task.fixed.start >= problem.now
    }
    return Kept(held_to_the_rules(problem), freed)


def _broken(problem: Problem, freed: dict[str, str]) -> dict[str, str]:
    """Return frozen tasks that break a rule among the tasks that would stay, with that rule."""
    staying = [task for task in problem.tasks if task.fixed and task.id not in freed]
    if not staying:
        return {}
    frozen = {task.id for task in staying if task.fixed and task.fixed.start >= problem.now}
    held = {task.id for task in staying}
    unmet = {
        after: f"after:{before}"
        for before, after in _in_order(problem)
        if after in frozen and before not in held
    }
    if unmet:
        return unmet
    among = held_to_the_rules(
        replace(
            problem,
            tasks=tuple(staying),
            waits=tuple(w for w in problem.waits if w.before in held and w.after in held),
        )
    )
    placements = tuple(task.fixed for task in staying if task.fixed)
    outcome = Outcome(Status.FEASIBLE, placements, score_of(among, placements))
    violations = verify(among, outcome)
    return {
        name: violation.code
        for violation in violations
        for name in (violation.task, violation.other)
        if name in frozen
    }


def _in_order(problem: Problem) -> Iterator[tuple[str, str]]:
    """Yield (earlier, later) tasks: by waits, and by the order of each run."""
    for wait in problem.waits:
        yield wait.before, wait.after
    last_of_run: dict[str, str] = {}
    for task in problem.tasks:
        if task.run:
            if task.run in last_of_run:
                yield last_of_run[task.run], task.id
            last_of_run[task.run] = task.id


def held_to_the_rules(problem: Problem) -> Problem:
    """Return a problem in which only work under way is beyond the rules."""
    return replace(
        problem,
        tasks=tuple(
            replace(task, fixed=None) if task.fixed and task.fixed.start >= problem.now else task
            for task in problem.tasks
        ),
    )
