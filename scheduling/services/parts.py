"""Long rooms in parts, each short enough for one window of any crew that may do it."""

from collections.abc import Iterable
from statistics import median

from scheduling.solver.problem import TICK_MINUTES, Crew


def part_minutes(
    crews: Iterable[Crew], skill: str, *, overhead_ticks: int, batch_ticks: int
) -> int:
    """Return the person-minutes that fit a usual window of the crews with a skill (0: none).

    The smallest of them counts, so that each may do any part; but not a crew of less than half
    the largest, which would cut everybody's rooms small and can still do small rooms.
    overhead_ticks: set-up and wash-up of the window. batch_ticks: as in ``Task.batch_ticks``.
    """
    fits = [
        _usual_minutes(crew, overhead_ticks, batch_ticks)
        for crew in crews
        if skill in crew.skills and crew.windows
    ]
    return min((minutes for minutes in fits if 2 * minutes >= max(fits)), default=0)


def _usual_minutes(crew: Crew, overhead_ticks: int, batch_ticks: int) -> int:
    net = int(median(window.end - window.start for window in crew.windows)) - overhead_ticks
    if batch_ticks:
        net -= net % batch_ticks
    heads = int(median(window.heads for window in crew.windows))
    return max(0, net) * TICK_MINUTES * max(1, heads)


def split_minutes(total: int, most: int) -> list[int]:
    """Return ``total`` in as few, as equal parts of at most ``most`` as there can be."""
    if most <= 0 or total <= most:
        return [total]
    count = -(-total // most)
    return [total // count + (1 if number < total % count else 0) for number in range(count)]
