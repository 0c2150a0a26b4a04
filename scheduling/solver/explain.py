"""Why each task is not earlier: the rule that binds it, as a code with values."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from scheduling.solver.evaluate import score_of
from scheduling.solver.problem import Placement, Problem, Task
from scheduling.solver.reason import Reason, latest_reason
from scheduling.solver.reasons_alone import reasons_alone
from scheduling.solver.reasons_among import Placed, reasons_among


def binding_reasons(problem: Problem, placements: Iterable[Placement]) -> dict[str, Reason]:
    """Return by placed task the rule that lets go of it last, for a plan that verify accepts.

    One tick earlier, all others where they are, a task would break that rule; only where the
    reason is ``together`` or ``free`` would it break none.
    """
    places = {placement.task: placement for placement in placements}
    found = found_reasons(problem, places.values())
    reasons = {
        task.id: binding_reason(task, places[task.id], found[task.id])
        for task in problem.tasks
        if task.id in places
    }
    free = [name for name, reason in reasons.items() if reason.code == "free"]
    worse = [name for name in free if _costs_more_earlier(problem, places, name)]
    return reasons | {name: replace(reasons[name], code="together") for name in worse}


def found_reasons(problem: Problem, placements: Iterable[Placement]) -> dict[str, list[Reason]]:
    """Return by placed task every rule that has a say in when it may start."""
    placed = Placed(problem, {placement.task: placement for placement in placements})
    found: dict[str, list[Reason]] = defaultdict(list)
    for task_id, place in placed.places.items():
        found[task_id] += reasons_alone(problem, placed.tasks[task_id], place)
    for task_id, reason in reasons_among(placed):
        found[task_id].append(reason)
    return found


def binding_reason(task: Task, place: Placement, found: Iterable[Reason]) -> Reason:
    """Return the rule that lets go of a placed task last; ``free`` where it did so earlier."""
    if task.fixed is not None:
        return Reason("fixed", place.start)
    last = latest_reason(found, place.start)
    return last if last.tick == place.start else Reason("free", last.tick)


def _costs_more_earlier(problem: Problem, places: Mapping[str, Placement], task: str) -> bool:
    """Return whether the plan would score worse with a task one tick earlier."""
    place = places[task]
    earlier = {**places, task: replace(place, start=place.start - 1, end=place.end - 1)}
    return score_of(problem, earlier.values()) > score_of(problem, places.values())
