"""Why a task cannot be planned: a smallest set of rules found that together leave it no place.

Rules are set aside, half of them at a time as long as there is no plan still, then fewer, down to
single ones; those without which there is still none are not part of the conflict and stay aside.
What remains conflicts, and no smaller part of it does. (QuickXplain, Junker 2004, is of this
kind.) That there is a plan without any one of them is certain; that there is none with them is
what was found, see ``placeable.plan_is_found``.
"""

from collections.abc import Callable, Collection

from scheduling.solver.budget import Budget
from scheduling.solver.loosen import Ground, loosened, rules_in_force, without
from scheduling.solver.outcome import Limits
from scheduling.solver.placeable import plan_is_found
from scheduling.solver.problem import Problem

type Grounds = tuple[Ground, ...]


def conflict(
    problem: Problem,
    task: str,
    placed: Collection[str],
    limits: Limits,
    stopwatch: Callable[[], float],
) -> Grounds:
    """Return rules that together leave a task no place beside the tasks placed, none to spare.

    Empty where a place is found after all, or none even without all rules that can be set aside.
    """
    needed = with_all_before(problem, task)
    case = without(problem, {t.id for t in problem.tasks} - needed - frozenset(placed))
    rules, budget = rules_in_force(case, needed), Budget(limits, stopwatch)

    def conflicts(kept: Grounds) -> bool:
        aside = [ground for ground in rules if ground not in kept]
        return not plan_is_found(loosened(case, aside, needed), budget)

    if not conflicts(rules) or conflicts(()):
        return ()
    kept = rules
    while (fewer := _without_spares(conflicts, kept, kept)) != kept:
        kept = fewer
    return kept


def _without_spares(conflicts: Callable[[Grounds], bool], kept: Grounds, part: Grounds) -> Grounds:
    """Return rules in conflict without those of a part that can be spared."""
    rest = tuple(ground for ground in kept if ground not in part)
    if conflicts(rest):
        return rest
    half = len(part) // 2
    for smaller in (part[:half], part[half:]) if half else ():
        kept = _without_spares(conflicts, kept, smaller)
    return kept


def with_all_before(problem: Problem, task: str) -> frozenset[str]:
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
