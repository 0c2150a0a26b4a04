"""From when the next stage of a room may follow a task, and what that rests on."""

from scheduling.solver.problem import Placement, Problem, Task
from scheduling.solver.stays import DRYER


def may_be_followed(problem: Problem, place: Placement, task: Task) -> tuple[int, str] | None:
    """Return the tick from which the first stage after a task may start, and the wait's reason.

    Several waits bind one stage: the latest counts. Several stages wait for one coat (the next
    coat, the sanding after it): the earliest of them counts; what only waits for a dryer does not
    follow it. A last coat that nothing follows is ready when it is dry. None where nothing has to
    be waited for.
    """
    by_stage: dict[str, tuple[int, str]] = {}
    for wait in problem.waits:
        if wait.before == place.task and wait.way in {None, place.way} and wait.reason != DRYER:
            ready = (problem.curves[wait.curve].ready(place.end), wait.reason)
            by_stage[wait.after] = max(ready, by_stage.get(wait.after, ready))
    if task.done_curve and not by_stage:
        by_stage[""] = (problem.curves[task.done_curve].ready(place.end), "air")
    first = min(by_stage.values(), default=(place.end, ""))
    return first if first[0] > place.end else None
