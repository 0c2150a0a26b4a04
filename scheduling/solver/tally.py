"""The score of a draft, quick enough to be asked for thousands of times a second.

It gives the same figures as evaluate.py, which is the plain definition (the tests hold the two
against each other).
"""

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
    compiled, end = draft.compiled, draft.end
    broken = sum(
        draft.crew[before] != NOWHERE and curve.ready(end[before]) > draft.start[after]
        for before, after, curve in compiled.pins
    )
    return Key(draft.crew.count(NOWHERE), broken, score_of_draft(draft))


def score_of_draft(draft: Draft) -> Score:
    """Return the exact score of a draft."""
    late, finish = _late_and_finish(draft)
    visits = idle = 0
    for crew in range(draft.compiled.ghost + 1):
        more, ticks = _visits_and_idle(draft, crew)
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


def _visits_and_idle(draft: Draft, crew: int) -> tuple[int, int]:
    """Return a crew's visits and its idle ticks."""
    compiled, problem = draft.compiled, draft.compiled.problem
    windows = problem.crews[crew].windows if crew != compiled.ghost else ()
    work: dict[tuple[int, int], int] = {}
    idle, last, last_day = 0, NOWHERE, 0
    for task in draft.items[crew]:
        number = draft.window[task]
        start, end = draft.start[task], draft.end[task]
        day = windows[number].day if windows else day_of(None, start)
        visit = day, compiled.house[task]
        work[visit] = work.get(visit, 0) + end - start
        if last != NOWHERE and day == last_day:
            idle += _idle_between(draft, windows, last, task)
        last, last_day = task, day
    light = sum(ticks < problem.worthwhile_ticks for ticks in work.values())
    return len(work) + light, idle


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
