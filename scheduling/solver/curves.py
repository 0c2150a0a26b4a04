"""Reading a ready curve backwards: by when must something end so that something may start."""

from bisect import bisect_right

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
