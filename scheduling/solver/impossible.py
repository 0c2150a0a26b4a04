"""Which tasks have no place in any plan, proved again from the Problem alone."""

from scheduling.solver.compiled import Compiled, compile_problem
from scheduling.solver.construct import in_order
from scheduling.solver.evaluate import score_of
from scheduling.solver.feasibility import impossible_lags
from scheduling.solver.outcome import Outcome, Status, Unplaced
from scheduling.solver.problem import Problem
from scheduling.solver.release import broken_rules


def proved_impossible(problem: Problem, outcome: Outcome) -> tuple[Unplaced, ...]:
    """Return the unplaced tasks of an outcome that no plan at all could place.

    A task counts when it finds no start even with every crew free and all that it waits for
    done as early as can be, or when its lags contradict each other. What was unplaced for any
    other reason may be the planner's own doing, and an outcome that says more than this is not
    believed.
    """
    placeless = _placeless(compile_problem(problem)) | set(impossible_lags(problem))
    return tuple(item for item in outcome.unplaced if item.task in placeless)


def fixed_clashes(problem: Problem) -> tuple[Unplaced, ...]:
    """Return the fixed tasks that break a rule by themselves or with each other, with its code:
    whatever a plan does with the rest, it breaks that rule as well. Work that began before
    ``Problem.now`` may be wherever it is."""
    fixed = {task.id: task.fixed for task in problem.tasks if task.fixed}
    plan = tuple(fixed.values())
    faults = broken_rules(problem, Outcome(Status.FEASIBLE, plan, score_of(problem, plan)))
    clashes = (
        Unplaced(fault.task, "fixed_clash", fault.code)
        for fault in faults
        if fault.task in fixed and (not fault.other or fault.other in fixed)
    )
    return tuple(dict.fromkeys(clashes))


def _placeless(compiled: Compiled) -> set[str]:
    """Return the ids of the tasks without a start in the relaxed plan."""
    placeless = set()
    ends: dict[int, int] = {}
    for unit in in_order(compiled, lambda task: task):
        for task in unit:
            mine = compiled.tasks[task]
            if mine.fixed is not None:
                ends[task] = mine.fixed.end
                continue
            end = _earliest_end(compiled, task, _floor(compiled, task, ends))
            if end is None:
                placeless.add(mine.id)
            else:
                ends[task] = end
    return placeless


def _floor(compiled: Compiled, task: int, ends: dict[int, int]) -> int:
    """Return the earliest tick the task might start at; what has no place holds nothing up."""
    floors = [wait.ready(ends[other]) for other, wait in compiled.least_into[task] if other in ends]
    if compiled.run_before[task] in ends:
        floors.append(ends[compiled.run_before[task]])
    return max([compiled.floors[task], *floors])


def _earliest_end(compiled: Compiled, task: int, floor: int) -> int | None:
    ends = [
        max(floor, low) + duration
        for choices in compiled.choices[task]
        if choices is not None
        for low, high, duration in zip(choices.lows, choices.highs, choices.durations, strict=True)
        if high >= floor
    ]
    return min(ends, default=None)
