"""In which ticks a crew could work on a task, and in which it does where the task may be split."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from itertools import islice

from scheduling.solver.problem import Crew, Problem, Span, Task

Part = tuple[int, int]
"""A first and a last tick, or start."""

Piece = tuple[int, int, int]
"""Ticks from the first up to, not including, the second, in the crew's window of that number."""


def days_on_site(crew: Crew, house: str, problem: Problem) -> dict[int, tuple[int, int]]:
    """Return by working day when the crew can be at a house, and when it must leave for its base.

    A crew without a base can be there all day.
    """
    there = back = 0
    if crew.base is not None:
        there = problem.travel.get((crew.base, house), 0)
        back = problem.travel.get((house, crew.base), 0)
    days: dict[int, tuple[int, int]] = {}
    for window in crew.windows:
        here = days.get(window.day, (window.start + there, 0))[0]
        days[window.day] = here, window.end - back
    return days


def stretches(
    task: Task, access: Sequence[Span] | None, crew: Crew, problem: Problem
) -> list[Piece]:
    """Return the unbroken stretches of its windows in which a crew could work on a task.

    Set-up, wash-up, the ways from and to the base, the skills that a window lacks, the house's
    access and the task's ``open`` spans are taken out; ``starts``, release and horizon are not.
    """
    days = days_on_site(crew, task.house, problem)
    given = (spans for spans in (access, task.open) if spans is not None)
    allowed = [disjoint((span.start, span.end - 1) for span in spans) for spans in given]
    found: list[Piece] = []
    for number, window in enumerate(crew.windows):
        if task.skills & window.lacks:
            continue
        here, gone = days[window.day]
        low = max(window.start, here) + problem.setup_ticks
        last = min(window.end, gone) - problem.washup_ticks - 1
        parts = [(low, last)] if low <= last else []
        for spans in allowed:
            parts = in_both(parts, spans)
        found += [(low, last + 1, number) for low, last in parts]
    return found


def worked(split: int, usable: Sequence[Piece], start: int, end: int) -> list[Piece]:
    """Return the pieces of a task that may be split, given the stretches of its crew.

    Stretches shorter than ``split`` are passed over, but for one it starts in. Empty for a task
    that is fixed where its crew could not work on it.
    """
    first = max(0, bisect_right(usable, start, key=lambda stretch: stretch[0]) - 1)
    pieces: list[Piece] = []
    for opens, closes, window in usable[first:]:
        if opens >= end:
            break
        if closes > start and (closes - opens >= split or opens <= start):
            pieces.append((max(opens, start), min(closes, end), window))
    return pieces


def disjoint(parts: Iterable[Part]) -> list[Part]:
    """Return parts sorted, those joined that overlap or follow on; empty ones drop out."""
    joined: list[Part] = []
    for low, high in sorted(part for part in parts if part[0] <= part[1]):
        if joined and low <= joined[-1][1] + 1:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def in_both(parts: Iterable[Part], allowed: Sequence[Part]) -> list[Part]:
    """Return what two lists of sorted, disjoint parts have in common, as such a list."""
    found: list[Part] = []
    for low, high in parts:
        first = bisect_left(allowed, low, key=lambda part: part[1])
        for opens, closes in islice(allowed, first, None):
            if opens > high:
                break
            found.append((max(low, opens), min(high, closes)))
    return found
