"""A lateness that no plan can beat: every task at its earliest, as if crews had no other work."""

from bisect import bisect_left

from scheduling.solver.compiled import Compiled
from scheduling.solver.construct import in_order
from scheduling.solver.problem import TICK_MINUTES


def lateness_bound(compiled: Compiled) -> int:
    """Return weighted minutes of lateness that every plan has at least."""
    _, ends = earliest(compiled)
    return sum(latenesses(compiled, ends))


def latenesses(compiled: Compiled, ends: list[int]) -> list[int]:
    """Return by handover its weighted minutes of lateness if every task had the end given."""
    late = []
    for members, handover in zip(compiled.members, compiled.problem.handovers, strict=True):
        dones = [_done(compiled, task, ends[task]) for task in members]
        over = max(0, max(dones, default=0) - handover.due)
        late.append(handover.weight * over * TICK_MINUTES)
    return late


def _done(compiled: Compiled, task: int, end: int) -> int:
    ready = compiled.done[task]
    return end if ready is None else ready(end)


def earliest(compiled: Compiled) -> tuple[list[int], list[int]]:
    """Return by task the tick that it cannot start before, and the earliest end.

    The end is the horizon, as in the score, where a task has no place.
    """
    floors = compiled.floors[:]
    ends = [compiled.problem.horizon] * len(compiled.tasks)
    for piece in in_order(compiled, lambda task: task):
        for task in piece:
            fixed = compiled.tasks[task].fixed
            if fixed is not None:
                ends[task] = fixed.end
                continue
            floor = compiled.floors[task]
            for before, curve in compiled.waits_into[task]:
                floor = max(floor, curve.ready(ends[before]))
            if compiled.run_before[task] >= 0:
                floor = max(floor, ends[compiled.run_before[task]])
            floors[task], ends[task] = floor, _earliest_end(compiled, task, floor)
    return floors, ends


def _earliest_end(compiled: Compiled, task: int, floor: int) -> int:
    """Return the earliest end of a task that starts at or after a tick, with any crew."""
    first_end = compiled.problem.horizon
    for choices in compiled.choices[task]:
        if choices is not None:
            first = bisect_left(choices.highs, floor)
            if first < len(choices.highs):
                start = max(floor, choices.lows[first])
                first_end = min(first_end, start + choices.durations[first])
    return first_end
