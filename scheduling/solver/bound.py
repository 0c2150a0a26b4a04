"""A lateness that no plan can beat: every task at its earliest, as if crews had no other work."""

from bisect import bisect_left

from scheduling.solver.compiled import Compiled
from scheduling.solver.construct import in_order
from scheduling.solver.problem import TICK_MINUTES


def lateness_bound(compiled: Compiled) -> int:
    """Return weighted minutes of lateness that every plan has at least."""
    ends = _earliest_ends(compiled)
    late = 0
    for members, handover in zip(compiled.members, compiled.problem.handovers, strict=True):
        dones = [_done(compiled, task, ends[task]) for task in members]
        late += handover.weight * max(0, max(dones, default=0) - handover.due)
    return late * TICK_MINUTES


def _done(compiled: Compiled, task: int, end: int) -> int:
    ready = compiled.done[task]
    return end if ready is None else ready(end)


def _earliest_ends(compiled: Compiled) -> list[int]:
    """Return by task the earliest end; the horizon, as in the score, where it has no place."""
    ends = [compiled.problem.horizon] * len(compiled.tasks)
    for piece in in_order(compiled, lambda task: task):
        for task in piece:
            fixed = compiled.tasks[task].fixed
            if fixed is not None:
                ends[task] = fixed.end
                continue
            floor = compiled.floors[task]
            for before, wait in compiled.least_into[task]:
                floor = max(floor, wait.ready(ends[before]))
            if compiled.run_before[task] >= 0:
                floor = max(floor, ends[compiled.run_before[task]])
            ends[task] = _earliest_end(compiled, task, floor)
    return ends


def _earliest_end(compiled: Compiled, task: int, floor: int) -> int:
    """Return the earliest end of a task that starts at or after a tick, with any crew."""
    earliest = compiled.problem.horizon
    for choices in compiled.choices[task]:
        if choices is not None:
            first = bisect_left(choices.highs, floor)
            if first < len(choices.highs):
                start = max(floor, choices.lows[first])
                earliest = min(earliest, start + choices.durations[first])
    return earliest
