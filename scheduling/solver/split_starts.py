"""Where a task that may be split over several windows can start, and when it then ends."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

from scheduling.solver.pieces import Piece, stretches
from scheduling.solver.problem import TICK_MINUTES, Crew, Problem, Span, Task

Range = tuple[int, int, int, int, int, int]
"""First and last start, ticks to the end, price, windows of the start and of the end."""


Worth = tuple[int, int]
"""Minutes of work that a tick of a window brings, and its price."""


def split_starts(
    task: Task, access: Sequence[Span] | None, crew: Crew, problem: Problem
) -> Iterator[Range]:
    """Yield the starts of a task in rising order, those that end equally long after together."""
    usable = stretches(task, access, crew, problem)
    minutes = task.person_minutes
    worths = [(window.heads * TICK_MINUTES, window.price) for window in crew.windows]
    if task.minutes_by_crew is not None:
        minutes = task.minutes_by_crew[crew.id]
        worths = [(TICK_MINUTES, window.price) for window in crew.windows]
    for number, (opens, closes, window) in enumerate(usable):
        rate, price = worths[window]
        whole = max(1, -(-minutes // rate))
        if opens + whole <= closes:
            yield opens, closes - whole, whole, whole * price, window, window
        if closes - opens >= task.split:
            rest = islice(usable, number + 1, None)
            later = (part for part in rest if part[1] - part[0] >= task.split)
            yield from _in_pieces(task.split, minutes, usable[number], later, worths)


def _in_pieces(
    split: int,
    minutes: int,
    here: Piece,
    later: Iterable[Piece],
    worths: Sequence[Worth],
) -> Iterator[Range]:
    """Yield the starts in ``here`` that leave work for later stretches, of which all but the last
    are used whole."""
    opens, closes, first = here
    rate, price = worths[first]
    left, between = minutes, 0
    for begins, ends, last in later:
        if left <= split * rate:
            return
        room, (pace, fee) = ends - begins, worths[last]
        fewest = max(split, -(-(left - room * pace) // rate))
        most = min(closes - opens, -(-(left - (split - 1) * pace) // rate) - 1)
        for longest, shortest in _groups(fewest, most, alike=worths[first] == worths[last]):
            ticks = -(-(left - longest * rate) // pace)
            start = closes - longest
            extra = between + longest * price + ticks * fee
            yield start, closes - shortest, begins + ticks - start, extra, first, last
        left -= room * pace
        between += room * fee


def _groups(fewest: int, most: int, *, alike: bool) -> Iterator[tuple[int, int]]:
    """Yield the lengths of a first piece from the longest down: all together, or one by one where
    a tick of the last piece is worth another."""
    if alike and fewest <= most:
        yield most, fewest
    elif not alike:
        yield from ((length, length) for length in range(most, fewest - 1, -1))
