"""Ready curves read backwards (by when must something end so that something may start), and two
as one."""

from bisect import bisect_left, bisect_right

from scheduling.solver.problem import ReadyCurve

NEVER = -(10**9)
"""An end (tick) so early that nothing reaches it."""


def latest_end(curve: ReadyCurve, start: int) -> int:
    """Return the latest end (tick) whose ready tick is at or before ``start``, else NEVER."""
    last = len(curve.ends) - 1
    step = bisect_right(range(last), start, key=lambda i: curve.ready(curve.ends[i] + 1))
    while step >= 0:
        if curve.floors[step] <= start:
            end = start - curve.lags[step]
            end = end if step == last else min(end, curve.ends[step])
            if step == 0 or end > curve.ends[step - 1]:
                return end
        step -= 1
    return NEVER


def earlier(one: ReadyCurve, two: ReadyCurve) -> ReadyCurve:
    """Return the curve that answers at every end with the earlier of two answers."""
    steps: list[tuple[int, int, int]] = []
    last = max(one.ends[-1], two.ends[-1])
    for end in sorted({*one.ends, *two.ends}):
        short, long = sorted(_step(curve, end) for curve in (one, two))
        # The longer lag is the earlier answer as long as only the other's floor counts.
        turn = short[1] - long[0] if long[1] < short[1] else NEVER
        before = steps[-1][0] if steps else NEVER
        if turn > before:
            steps.append((turn if end == last else min(turn, end), *long))
        if turn < end or end == last:
            steps.append((max(end, turn + 1), *short))
    return ReadyCurve(*(tuple(column) for column in zip(*_merged(steps), strict=True)))


def _step(curve: ReadyCurve, end: int) -> tuple[int, int]:
    """Return the lag and the floor that hold for an end."""
    step = min(bisect_left(curve.ends, end), len(curve.ends) - 1)
    return curve.lags[step], curve.floors[step]


def _merged(steps: list[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Return steps with neighbours that answer alike as one."""
    kept: list[tuple[int, int, int]] = []
    for end, lag, floor in steps:
        if kept and kept[-1][1:] == (lag, floor):
            kept.pop()
        kept.append((end, lag, floor))
    return kept
