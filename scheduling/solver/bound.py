"""A lateness that no plan can beat: every task at its earliest, as if crews had no other work."""

from bisect import bisect_left
from collections.abc import Mapping

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
    """Return by task the earliest end; the horizon, as in the score, where it has no place.

    Where tasks wait for each other in a ring, what comes later in the order holds nothing up.
    """
    ends: dict[int, int] = {}
    ordered = [task for piece in in_order(compiled, lambda task: task) for task in piece]
    for task in dict.fromkeys([*ordered, *range(len(compiled.tasks))]):
        fixed = compiled.tasks[task].fixed
        ends[task] = (
            fixed.end if fixed else _earliest_end(compiled, task, _floor(compiled, task, ends))
        )
    return [ends[task] for task in range(len(compiled.tasks))]


def _floor(compiled: Compiled, task: int, ends: Mapping[int, int]) -> int:
    """Return the earliest start that the ends known so far leave to a task."""
    floors = [
        curve.ready(ends[before]) for before, curve in compiled.waits_into[task] if before in ends
    ]
    if compiled.run_before[task] in ends:
        floors.append(ends[compiled.run_before[task]])
    return max([compiled.floors[task], *floors])


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
