"""The score of a draft, quick enough to be asked for thousands of times a second.

It gives the same figures as evaluate.py, which is the plain definition (the tests hold the two
against each other).
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from scheduling.solver.draft import NOWHERE, Draft
from scheduling.solver.evaluate import day_of
from scheduling.solver.outcome import Score
from scheduling.solver.problem import TICK_MINUTES, Window


class Key(NamedTuple):
    """What one draft is better than another by: fewer tasks without a place first, then fewer
    fixed tasks that come before what they wait for, then the score."""

    unplaced: int
    broken_pins: int
    score: Score


def key_of(draft: Draft) -> Key:
    """Return how good a draft is; smaller is better."""
    return Key(draft.crew.count(NOWHERE), broken_pins(draft), score_of_draft(draft))


def broken_pins(draft: Draft) -> int:
    """Return how many waits are not kept because a fixed task comes too early for them."""
    end = draft.end
    return sum(
        draft.counts(before, way) and curve.ready(end[before]) > draft.start[after]
        for before, after, curve, way in draft.compiled.pins
    )


def score_of_draft(draft: Draft) -> Score:
    """Return the exact score of a draft."""
    late, finish = _late_and_finish(draft)
    visits = idle = 0
    for crew in range(draft.compiled.ghost + 1):
        for _, works in works_by_day(draft, crew):
            more, ticks = day_tally(draft, crew, works)
            visits += more
            idle += ticks
    return Score(late * TICK_MINUTES, visits, idle * TICK_MINUTES, finish)


def finish_of(draft: Draft, handover: int) -> int | None:
    """Return the tick at which a handover (index) is done, None where it has no tasks."""
    compiled, horizon = draft.compiled, draft.compiled.problem.horizon
    finish = None
    for task in compiled.members[handover]:
        done = draft.end[task] if draft.crew[task] != NOWHERE else horizon
        ready = compiled.done[task]
        if ready is not None:
            done = ready(done)
        if finish is None or done > finish:
            finish = done
    return finish


def _late_and_finish(draft: Draft) -> tuple[int, int]:
    problem = draft.compiled.problem
    if not problem.handovers:
        return 0, sum(
            end if crew != NOWHERE else problem.horizon
            for end, crew in zip(draft.end, draft.crew, strict=True)
        )
    late = total = 0
    for number, handover in enumerate(problem.handovers):
        finish = finish_of(draft, number)
        if finish is not None:
            total += finish
            if finish > handover.due:
                late += handover.weight * (finish - handover.due)
    return late, total


def works_by_day(draft: Draft, crew: int) -> list[tuple[int, list[int]]]:
    """Return a crew's days in order, each with its tasks in the order of their starts."""
    compiled = draft.compiled
    windows = compiled.problem.crews[crew].windows if crew != compiled.ghost else ()
    days: list[tuple[int, list[int]]] = []
    for task in draft.items[crew]:
        day = windows[draft.window[task]].day if windows else day_of(None, draft.start[task])
        if not days or days[-1][0] != day:
            days.append((day, []))
        days[-1][1].append(task)
    return days


def day_tally(draft: Draft, crew: int, works: Sequence[int]) -> tuple[int, int]:
    """Return the visits and idle ticks of a crew's tasks of one day, given in order."""
    compiled = draft.compiled
    windows = compiled.problem.crews[crew].windows if crew != compiled.ghost else ()
    work: dict[int, int] = {}
    for task in works:
        house = compiled.house[task]
        work[house] = work.get(house, 0) + draft.end[task] - draft.start[task]
    least = compiled.problem.worthwhile_ticks
    light = sum(ticks < least for ticks in work.values())
    return len(work) + light, sum(_idle_between(draft, windows, *pair) for pair in pairwise(works))


def _idle_between(draft: Draft, windows: tuple[Window, ...], one: int, two: int) -> int:
    """Return the paid ticks between two tasks in a row that nothing accounts for."""
    compiled, end, start = draft.compiled, draft.end[one], draft.start[two]
    paid, together = 0, False
    for window in windows[draft.window[one] : draft.window[two] + 1]:
        paid += max(0, min(window.end, start) - max(window.start, end))
        together = together or (window.start < end and start < window.end)
    if together:
        return max(0, paid - compiled.gaps[compiled.house[one]][compiled.house[two]])
    return max(0, paid - compiled.problem.setup_ticks - compiled.problem.washup_ticks)
