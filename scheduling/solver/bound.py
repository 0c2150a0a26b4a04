"""A cost that no plan can beat: every task at its earliest and at its cheapest, as if crews had no
other work."""

from bisect import bisect_left
from collections.abc import Mapping

from scheduling.solver.compiled import Compiled
from scheduling.solver.construct import in_order
from scheduling.solver.draft import empty_draft
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.tally import score_of_draft


def cost_bound(compiled: Compiled) -> int:
    """Return a cost that every plan of all tasks has at least (see Score)."""
    return lateness_bound(compiled) + (_least_extra(compiled) if compiled.priced else 0)


def lateness_bound(compiled: Compiled) -> int:
    """Return weighted minutes of lateness that every plan has at least."""
    ends = _earliest_ends(compiled)
    late = 0
    for members, handover in zip(compiled.members, compiled.problem.handovers, strict=True):
        dones = [_done(compiled, task, ends[task]) for task in members]
        late += handover.weight * max(0, max(dones, default=0) - handover.due)
    return late * TICK_MINUTES


def _least_extra(compiled: Compiled) -> int:
    """Return the price of the fixed tasks' windows, and of the cheapest that each other task can
    still have when it can start."""
    ends = _earliest_ends(compiled)
    extra = score_of_draft(empty_draft(compiled)).extra
    for task, rows in enumerate(compiled.choices):
        floor = _floor(compiled, task, ends)
        left = (row.extras[bisect_left(row.highs, floor) :] for row in rows if row is not None)
        extra += min((min(extras) for extras in left if extras), default=0)
    return extra


def _done(compiled: Compiled, task: int, end: int) -> int:
    ready = compiled.done[task]
    return end if ready is None else ready(end)


def _earliest_ends(compiled: Compiled) -> dict[int, int]:
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
    return ends


def _floor(compiled: Compiled, task: int, ends: Mapping[int, int]) -> int:
    """Return the earliest start that the ends known so far leave to a task."""
    floors = [
        wait.ready(ends[before]) for before, wait in compiled.least_into[task] if before in ends
    ]
    if compiled.run_before[task] in ends:
        floors.append(ends[compiled.run_before[task]])
    return max([compiled.floors[task], *floors])


def _earliest_end(compiled: Compiled, task: int, floor: int) -> int:
    """Return the earliest end of a task that starts at or after a tick, with any crew."""
    earliest = compiled.problem.horizon
    for choices in compiled.choices[task]:
        if choices is not None:
            for number in range(bisect_left(choices.highs, floor), len(choices.highs)):
                start = max(floor, choices.lows[number])
                if start >= earliest:
                    break
                earliest = min(earliest, start + choices.durations[number])
    return earliest
