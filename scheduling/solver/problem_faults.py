"""What a Problem refers to but does not define, defines twice, or says the wrong way round."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from itertools import chain, pairwise

from scheduling.solver.problem import Problem, Span, Task, curve_faults
from scheduling.solver.ways import ways_by_task


def problem_faults(problem: Problem) -> list[str]:
    """Return every fault as "path: what is wrong", the path as in the Problem's JSON form.

    Empty for a Problem that can be solved; the planner expects no other.
    """
    return list(
        chain(
            _origin(problem),
            _repeated(problem),
            _unknown_in_tasks(problem),
            _unknown_elsewhere(problem),
            _ways(problem),
            _windows(problem),
            _spans(problem),
            _splits(problem),
            _curves(problem),
        )
    )


def _origin(problem: Problem) -> Iterator[str]:
    try:
        datetime.fromisoformat(problem.origin)
    except ValueError:
        yield f"$.origin: {problem.origin!r} is no moment"


def _repeated(problem: Problem) -> Iterator[str]:
    for name in ("crews", "houses", "tasks", "handovers", "equipment"):
        ids = [item.id for item in getattr(problem, name)]
        for key, count in Counter(ids).items():
            if count > 1:
                yield f"$.{name}: {key!r} is there {count} times"


def _unknown_in_tasks(problem: Problem) -> Iterator[str]:
    known = {
        "house": {house.id for house in problem.houses},
        "crews": {crew.id for crew in problem.crews},
        "needs": {item.id for item in problem.equipment},
        "minutes_by_crew": {crew.id for crew in problem.crews},
        "handover": {handover.id for handover in problem.handovers},
        "wet_curve": set(problem.curves),
        "done_curve": set(problem.curves),
    }
    for number, task in enumerate(problem.tasks):
        for name, ids in known.items():
            for key in _named(task, name):
                if key not in ids:
                    yield f"$.tasks[{number}].{name}: {key!r} is not defined (task {task.id!r})"
        if task.fixed and task.fixed.task != task.id:
            yield f"$.tasks[{number}].fixed.task: is not the task itself, {task.id!r}"
        if task.fixed and task.fixed.end <= task.fixed.start:
            end, start = task.fixed.end, task.fixed.start
            yield f"$.tasks[{number}].fixed: ends at {end}, not after {start}"


def _named(task: Task, name: str) -> tuple[str, ...]:
    value = getattr(task, name)
    if value is None:
        return ()
    return tuple(value) if isinstance(value, tuple | Mapping) else (value,)


def _unknown_elsewhere(problem: Problem) -> Iterator[str]:
    houses, tasks = {house.id for house in problem.houses}, {task.id for task in problem.tasks}
    for number, handover in enumerate(problem.handovers):
        if handover.house not in houses:
            yield f"$.handovers[{number}].house: {handover.house!r} is not defined"
    for number, wait in enumerate(problem.waits):
        for name, key in (("before", wait.before), ("after", wait.after)):
            if key not in tasks:
                yield f"$.waits[{number}].{name}: {key!r} is not defined"
        if wait.before == wait.after:
            yield f"$.waits[{number}]: {wait.before!r} waits for itself"
        if wait.curve not in problem.curves:
            yield f"$.waits[{number}].curve: {wait.curve!r} is not defined"
        if wait.most is not None and wait.most < 0:
            yield f"$.waits[{number}].most: {wait.most} is below 0"
    places = houses | {crew.base for crew in problem.crews}
    for place in dict.fromkeys(chain.from_iterable(problem.travel)):
        if place not in places:
            yield f"$.travel: {place!r} is not defined"


def _ways(problem: Problem) -> Iterator[str]:
    """A fixed task with ways says which it was left in; nobody else may say so."""
    equipment = {item.id for item in problem.equipment}
    for number, wait in enumerate(problem.waits):
        for item in wait.holds:
            if item not in equipment:
                yield f"$.waits[{number}].holds: {item!r} is not defined"
        if wait.way == "":
            yield f"$.waits[{number}].way: is empty"
    ways = ways_by_task(problem)
    for number, task in enumerate(problem.tasks):
        known = ways.get(task.id, ())
        if task.fixed and task.fixed.way not in (known or ("",)):
            said = f"is one of {', '.join(map(repr, known))}" if known else "has none"
            path = f"$.tasks[{number}].fixed.way"
            yield f"{path}: {task.fixed.way!r}, but the way to leave {task.id!r} {said}"


def _windows(problem: Problem) -> Iterator[str]:
    for number, crew in enumerate(problem.crews):
        path = f"$.crews[{number}].windows"
        for place, window in enumerate(crew.windows):
            if window.end <= window.start:
                yield f"{path}[{place}]: ends at {window.end}, not after {window.start}"
        for place, (one, two) in enumerate(pairwise(crew.windows), start=1):
            if two.start < one.end:
                yield f"{path}[{place}]: begins at {two.start}, before the last one's {one.end}"
            if two.day < one.day:
                yield f"{path}[{place}]: is of day {two.day}, after one of day {one.day}"


def _spans(problem: Problem) -> Iterator[str]:
    for number, house in enumerate(problem.houses):
        yield from _backward(f"$.houses[{number}].access", house.access)
    for number, task in enumerate(problem.tasks):
        yield from _backward(f"$.tasks[{number}].starts", task.starts)
        yield from _backward(f"$.tasks[{number}].open", task.open)


def _backward(path: str, spans: Iterable[Span] | None) -> Iterator[str]:
    for place, span in enumerate(spans or ()):
        if span.end <= span.start:
            yield f"{path}[{place}]: ends at {span.end}, not after {span.start}"


def _splits(problem: Problem) -> Iterator[str]:
    for number, task in enumerate(problem.tasks):
        if task.split and task.batch_ticks:
            yield f"$.tasks[{number}].split: batches are not split (task {task.id!r})"


def _curves(problem: Problem) -> Iterator[str]:
    said = {
        "uneven": "ends, lags and floors must be equally long and not empty",
        "unsorted": "ends must rise",
        "falling": "a later end may not be ready earlier",
    }
    for name, curve in problem.curves.items():
        for fault in dict.fromkeys(curve_faults(curve)):
            yield f"$.curves.{name}: {said[fault]}"
