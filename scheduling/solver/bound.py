"""A cost that no plan can beat: every task at its earliest and at its cheapest, as if crews had no
other work."""

from bisect import bisect_left
from collections.abc import Mapping

from scheduling.solver.compiled import Compiled
from scheduling.solver.construct import in_order
from scheduling.solver.draft import NOWHERE, Draft, empty_draft
from scheduling.solver.problem import TICK_MINUTES
from scheduling.solver.tally import score_of_draft
from scheduling.solver.unplaced import could_start


def cost_bound(compiled: Compiled) -> int:
    """Return a cost that every plan of all tasks has at least (see Score)."""
    return lateness_bound(compiled) + (_least_extra(compiled) if compiled.priced else 0)


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


def could_place_more(draft: Draft) -> bool:
    """Return whether a task without a place might have one if crews had no other work."""
    unplaced = [task for task, crew in enumerate(draft.crew) if crew == NOWHERE]
    floors, _ = earliest(draft.compiled) if unplaced else ([], [])
    return any(could_start(draft.compiled, task, floors[task]) for task in unplaced)


def _least_extra(compiled: Compiled) -> int:
    """Return the price of the fixed tasks' windows, and of the cheapest that each other task can
    still have when it can start."""
    floors, _ = earliest(compiled)
    extra = score_of_draft(empty_draft(compiled)).extra
    for task, rows in enumerate(compiled.choices):
        left = (
            row.extras[bisect_left(row.highs, floors[task]) :] for row in rows if row is not None
        )
        extra += min((min(extras) for extras in left if extras), default=0)
    return extra


def _done(compiled: Compiled, task: int, end: int) -> int:
    ready = compiled.done[task]
    return end if ready is None else ready(end)


def earliest(compiled: Compiled) -> tuple[list[int], list[int]]:
    """Return by task the tick that it cannot start before, and the earliest end.

    The end is the horizon, as in the score, where a task has no place. Where tasks wait for each
    other in a ring, what comes later in the order holds nothing up.
    """
    floors = compiled.floors[:]
    ends: dict[int, int] = {}
    ordered = [task for piece in in_order(compiled, lambda task: task) for task in piece]
    for task in dict.fromkeys([*ordered, *range(len(compiled.tasks))]):
        fixed = compiled.tasks[task].fixed
        if fixed is None:
            floors[task] = _floor(compiled, task, ends)
        ends[task] = fixed.end if fixed else _earliest_end(compiled, task, floors[task])
    return floors, [ends[task] for task in range(len(compiled.tasks))]


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
    first_end = compiled.problem.horizon
    for choices in compiled.choices[task]:
        if choices is not None:
            for number in range(bisect_left(choices.highs, floor), len(choices.highs)):
                start = max(floor, choices.lows[number])
                if start >= first_end:
                    break
                first_end = min(first_end, start + choices.durations[number])
    return first_end
