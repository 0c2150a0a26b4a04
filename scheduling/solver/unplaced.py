"""Why a task found no place."""

from scheduling.solver.compiled import Compiled
from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.feasibility import impossible_lags
from scheduling.solver.outcome import Unplaced
from scheduling.solver.problem import last_batch_ticks, task_ticks


def reasons(draft: Draft) -> tuple[Unplaced, ...]:
    """Return every task without a place, with the code of the first reason that holds."""
    compiled = draft.compiled
    ring = impossible_lags(compiled.problem) if NOWHERE in draft.crew else []
    after = dict(zip(ring, [*ring[1:], *ring[:1]], strict=True))
    return tuple(
        Unplaced(task.id, "impossible_lags", after[task.id])
        if task.id in after
        else Unplaced(task.id, *_reason(draft, i))
        for i, task in enumerate(compiled.tasks)
        if draft.crew[i] == NOWHERE
    )


def _reason(draft: Draft, task: int) -> tuple[str, str]:
    compiled = draft.compiled
    code = _own_reason(compiled, task)
    if code:
        return code, ""
    for before in compiled.befores(task):
        if draft.crew[before] == NOWHERE:
            return "after_unplaced", compiled.tasks[before].id
    tied = [lag.other for lag in (*compiled.most_into[task], *compiled.most_from[task])]
    if tied:
        return "lag_too_long", compiled.tasks[_hopeless(compiled, tied)].id
    bounds = draft.bounds(task, heed_pins=False)
    if not could_start(compiled, task, bounds.floor):
        return "no_open_time", ""
    if any(draft.start[softer] <= bounds.floor for softer in compiled.softer_fixed[task]):
        return "fixed_clash", "grade"
    return "no_room", ""


def _hopeless(compiled: Compiled, tasks: list[int]) -> int:
    """Return the first task that could not be placed even alone, else the first."""
    free = [task for task in tasks if compiled.tasks[task].fixed is None]
    return next((task for task in free if _own_reason(compiled, task)), tasks[0])


def _own_reason(compiled: Compiled, task: int) -> str:
    """Return why the task could not be placed even if it were the only one, else ""."""
    if not compiled.crews[task]:
        return "no_crew"
    if _too_long(compiled, task):
        return "too_long"
    return "" if could_start(compiled, task, compiled.floors[task]) else "no_open_time"


def _too_long(compiled: Compiled, task: int) -> bool:
    """Return whether no window of any crew that may do the task is long enough for it, at one go
    where it must be."""
    problem, mine = compiled.problem, compiled.tasks[task]
    around = problem.setup_ticks + problem.washup_ticks
    return not mine.split and not any(
        window.end - window.start - around
        >= last_batch_ticks(
            task_ticks(mine, problem.crews[number].id, window.heads), mine.batch_ticks
        )
        for number in compiled.crews[task]
        for window in problem.crews[number].windows
        if not mine.skills & window.lacks
    )


def could_start(compiled: Compiled, task: int, floor: int) -> bool:
    """Return whether the task could start at or after a tick if no other work were there."""
    rows = (compiled.choices[task][number] for number in compiled.crews[task])
    return any(row is not None and row.highs and row.highs[-1] >= floor for row in rows)
