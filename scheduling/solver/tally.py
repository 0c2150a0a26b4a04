"""The score of a draft, quick enough to be asked for thousands of times a second.

It gives the same figures as evaluate.py, which is the plain definition (the tests hold the two
against each other).
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from scheduling.solver.compiled import Compiled
from scheduling.solver.draft import NOWHERE, Draft, Place
from scheduling.solver.evaluate import day_of
from scheduling.solver.outcome import Score
from scheduling.solver.problem import TICK_MINUTES, Window

Work = tuple[int, int, int, int]
"""One unbroken piece of work: house (index), start, end, number of the crew's window."""

Tally = tuple[int, int, int]
"""A crew's visits of one day, its idle ticks, and the price of the windows it works in."""


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
    visits = idle = extra = 0
    for crew in range(draft.compiled.ghost + 1):
        for works in works_by_day(draft, crew).values():
            tally = day_tally(draft.compiled, crew, works)
            visits += tally[0]
            idle += tally[1]
            extra += tally[2]
    if draft.compiled.problem.another_crew:
        houses = range(len(draft.compiled.problem.houses))
        visits += sum(crew_visits(draft, house) for house in houses)
    return Score(late * TICK_MINUTES + extra, visits, idle * TICK_MINUTES, finish, extra)


def crew_visits(draft: Draft, house: int) -> int:
    """Return what the crews beyond the first in a house (index) count as."""
    inside = {draft.crew[task] for task in draft.compiled.at[house]} - {NOWHERE}
    return draft.compiled.problem.another_crew * max(0, len(inside) - 1)


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


def works_by_day(draft: Draft, crew: int) -> dict[int, list[Work]]:
    """Return by working day of a crew what it works on, in the order of the starts."""
    compiled = draft.compiled
    windows = compiled.problem.crews[crew].windows if crew != compiled.ghost else ()
    days: dict[int, list[Work]] = {}
    for work in works_of(draft, crew, draft.items[crew]):
        day = windows[work[3]].day if windows else day_of(None, work[1])
        days.setdefault(day, []).append(work)
    return days


def works_of(draft: Draft, crew: int, tasks: Sequence[int]) -> list[Work]:
    """Return what a crew works on in the order of the starts, given its tasks in that order."""
    compiled, house = draft.compiled, draft.compiled.house
    start, end, window = draft.start, draft.end, draft.window
    if not compiled.stretches:
        return [(house[task], start[task], end[task], window[task]) for task in tasks]
    works = [
        (piece[0], piece[1], compiled.tasks[task].id, (house[task], *piece))
        for task in tasks
        for piece in draft.pieces(task, Place(crew, start[task], end[task], window[task]))
    ]
    return [work for *_, work in sorted(works)]


def day_tally(compiled: Compiled, crew: int, works: Sequence[Work]) -> Tally:
    """Return the visits, the idle ticks and the price of a crew's works of one day, in order."""
    windows = compiled.problem.crews[crew].windows if crew != compiled.ghost else ()
    ticks: dict[int, int] = {}
    for house, start, end, _ in works:
        ticks[house] = ticks.get(house, 0) + end - start
    least = compiled.problem.worthwhile_ticks
    light = sum([worked < least for worked in ticks.values()])
    idle = sum([_idle_between(compiled, windows, one, two) for one, two in pairwise(works)])
    extra = sum(_extra(windows, work) for work in works) if compiled.priced else 0
    return len(ticks) + light, idle, extra


def _extra(windows: tuple[Window, ...], work: Work) -> int:
    """Return the price of the windows that a work touches."""
    _, start, end, number = work
    extra = 0
    while number < len(windows) and windows[number].start < end:
        window = windows[number]
        extra += window.price * max(0, min(window.end, end) - max(window.start, start))
        number += 1
    return extra


def _idle_between(
    compiled: Compiled, windows: tuple[Window, ...], before: Work, after: Work
) -> int:
    """Return the paid ticks between two works in a row that nothing accounts for."""
    here, _, end, first = before
    there, start, _, last = after
    paid, together = 0, False
    for window in windows[first : last + 1]:
        paid += max(0, min(window.end, start) - max(window.start, end))
        together = together or (window.start < end and start < window.end)
    if together:
        return max(0, paid - compiled.gaps[here][there])
    return max(0, paid - compiled.problem.setup_ticks - compiled.problem.washup_ticks)
