"""Where one task may start on one crew when nobody else is there."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields

from scheduling.solver.pieces import Part, days_on_site, disjoint, in_both
from scheduling.solver.problem import (
    Crew,
    Problem,
    Span,
    Task,
    last_batch_ticks,
    task_ticks,
)
from scheduling.solver.split_starts import Range, split_starts


@dataclass(slots=True)
class StartChoices:
    """Stretches of allowed start ticks in rising order, as parallel lists.

    A start ``s`` with ``lows[i] <= s <= highs[i]`` makes the task end ``durations[i]`` ticks
    later; it begins in the crew's window number ``windows[i]``, which opens at ``opens[i]``, and
    ends in one that closes at ``closes[i]``: the same, but where it is split. ``extras[i]`` is
    the price of the windows it is worked in.
    """

    lows: list[int] = field(default_factory=list)
    highs: list[int] = field(default_factory=list)
    durations: list[int] = field(default_factory=list)
    windows: list[int] = field(default_factory=list)
    opens: list[int] = field(default_factory=list)
    closes: list[int] = field(default_factory=list)
    extras: list[int] = field(default_factory=list)

    def extra_at(self, start: int) -> int:
        """Return the price of the windows that an allowed start leads to."""
        return self.extras[bisect_left(self.highs, start)]

    def without_extra(self) -> "StartChoices":
        """Return the choices that cost nothing extra."""
        if not any(self.extras):
            return self
        free = [number for number, extra in enumerate(self.extras) if not extra]
        return StartChoices(
            *([getattr(self, column.name)[number] for number in free] for column in fields(self))
        )


def start_choices(
    task: Task, access: Sequence[Span] | None, crew: Crew, problem: Problem
) -> StartChoices:
    """Return the starts that windows, base, set-up, wash-up, batches, skills, spans and horizon
    leave.

    ``release`` and ``now`` are left out, so that tasks which differ in nothing else can share
    one answer.
    """
    choices = StartChoices()
    ranges = split_starts if task.split else _whole_starts
    allowed = None
    if task.starts is not None:
        allowed = disjoint((span.start, span.end - 1) for span in task.starts)
    for low, high, duration, extra, first, last in ranges(task, access, crew, problem):
        until = min(high, problem.horizon - duration)
        parts = [(low, until)] if low <= until else []
        for earliest, latest in parts if allowed is None else in_both(parts, allowed):
            choices.lows.append(earliest)
            choices.highs.append(latest)
            choices.durations.append(duration)
            choices.windows.append(first)
            choices.opens.append(crew.windows[first].start)
            choices.closes.append(crew.windows[last].end)
            choices.extras.append(extra)
    return choices


def _whole_starts(
    task: Task, access: Sequence[Span] | None, crew: Crew, problem: Problem
) -> Iterator[Range]:
    """Yield the starts of a task that is done at one go."""
    days = days_on_site(crew, task.house, problem) if crew.base is not None else {}
    lengths = {heads: task_ticks(task, crew.id, heads) for heads in {w.heads for w in crew.windows}}
    needs = {heads: last_batch_ticks(lengths[heads], task.batch_ticks) for heads in lengths}
    open_for = {length: _open_for(length, task, access) for length in set(lengths.values())}
    for number, window in enumerate(crew.windows):
        if task.skills & window.lacks:
            continue
        duration = lengths[window.heads]
        here, gone = days.get(window.day, (window.start, window.end))
        low = max(window.start, here) + problem.setup_ticks
        high = min(window.end - needs[window.heads], gone - duration) - problem.washup_ticks
        parts = [(low, high)] if low <= high else []
        for starts in open_for[duration]:
            parts = in_both(parts, starts)
        for first, last in parts:
            yield first, last, duration, duration * window.price, number, number


def _open_for(duration: int, task: Task, access: Sequence[Span] | None) -> list[list[Part]]:
    """Return, each for itself, the starts from which the task and the house stay open so long."""
    given = (spans for spans in (task.open, access) if spans is not None)
    return [disjoint((span.start, span.end - duration) for span in spans) for spans in given]
