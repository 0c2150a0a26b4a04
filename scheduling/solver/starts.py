"""Where one task may start on one crew when nobody else is there."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from scheduling.solver.problem import (
    Crew,
    Problem,
    Span,
    Task,
    last_batch_ticks,
    task_ticks,
)


@dataclass(slots=True)
class StartChoices:
    """Stretches of allowed start ticks in rising order, as parallel lists.

    A start ``s`` with ``lows[i] <= s <= highs[i]`` makes the task last ``durations[i]`` ticks
    in the crew's window number ``windows[i]``, which runs from ``opens[i]`` to ``closes[i]``.
    """

    lows: list[int] = field(default_factory=list)
    highs: list[int] = field(default_factory=list)
    durations: list[int] = field(default_factory=list)
    windows: list[int] = field(default_factory=list)
    opens: list[int] = field(default_factory=list)
    closes: list[int] = field(default_factory=list)


def start_choices(
    task: Task, access: Sequence[Span] | None, crew: Crew, problem: Problem
) -> StartChoices:
    """Return the starts that windows, base, set-up, wash-up, batches, skills, spans and horizon
    leave.

    ``release`` and ``now`` are left out, so that tasks which differ in nothing else can share
    one answer.
    """
    choices = StartChoices()
    days = _days_on_site(crew, task.house, problem) if crew.base is not None else {}
    lengths = {heads: task_ticks(task, crew.id, heads) for heads in {w.heads for w in crew.windows}}
    needs = {heads: last_batch_ticks(lengths[heads], task.batch_ticks) for heads in lengths}
    for number, window in enumerate(crew.windows):
        if task.skills & window.lacks:
            continue
        duration = lengths[window.heads]
        here, gone = days.get(window.day, (window.start, window.end))
        low = max(window.start, here) + problem.setup_ticks
        last = min(window.end - needs[window.heads], gone - duration) - problem.washup_ticks
        high = min(last, problem.horizon - duration)
        if low > high:
            continue
        for start in _allowed(low, high, duration, task, access):
            choices.lows.append(start[0])
            choices.highs.append(start[1])
            choices.durations.append(duration)
            choices.windows.append(number)
            choices.opens.append(window.start)
            choices.closes.append(window.end)
    return choices


def _days_on_site(crew: Crew, house: str, problem: Problem) -> dict[int, tuple[int, int]]:
    """Return by working day when the crew can be at a house, and when it must leave for its base.

    Only for a crew with a base: one without can be there all day.
    """
    there = problem.travel.get((crew.base or "", house), 0)
    back = problem.travel.get((house, crew.base or ""), 0)
    days: dict[int, tuple[int, int]] = {}
    for window in crew.windows:
        here = days.get(window.day, (window.start + there, 0))[0]
        days[window.day] = here, window.end - back
    return days


def _allowed(
    low: int, high: int, duration: int, task: Task, access: Sequence[Span] | None
) -> list[tuple[int, int]]:
    """Return the stretches of [low, high] that the task's spans and the house's access leave."""
    stretches = [(low, high)]
    if task.starts is not None:
        stretches = _cut(stretches, ((span.start, span.end - 1) for span in task.starts))
    if task.open is not None:
        stretches = _cut(stretches, ((span.start, span.end - duration) for span in task.open))
    if access is not None:
        stretches = _cut(stretches, ((span.start, span.end - duration) for span in access))
    return stretches


def _cut(
    stretches: list[tuple[int, int]], allowed: Iterable[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Return the sorted, disjoint stretches common to both (inclusive ends)."""
    if not stretches:
        return []
    pieces = sorted(
        (max(low, first), min(high, last))
        for first, last in allowed
        for low, high in stretches
        if max(low, first) <= min(high, last)
    )
    merged: list[tuple[int, int]] = []
    for low, high in pieces:
        if merged and low <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged
