"""Waits between coats in the form a scheduler can use: whole ticks and plain integers.

A curve answers, for work that ended at tick e, from which tick the next may start: in step i,
for e in ``(ends[i-1], ends[i]]``, it is ``max(e + lags[i], floors[i])``. Answers never fall as
e rises.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from finishing.rules.drying import dry_at
from finishing.rules.units import FloatArray

_TICK_SLACK = 1e-6
"""Part of a tick that counts as rounding of floating numbers, not as drying time."""

type TickArray = NDArray[np.int64]


class Curve(NamedTuple):
    """Steps of a curve, in ticks; the last step also holds for every later end."""

    ends: tuple[int, ...]
    lags: tuple[int, ...]
    floors: tuple[int, ...]


def air_ready_curve(
    progress: FloatArray, amount: float, *, ticks_per_hour: int = 12, horizon_ticks: int
) -> Curve:
    """Return from when a coat has dried by ``amount``, by the tick at which it ended.

    progress: drying done at each hour edge (:func:`finishing.rules.drying.progress`), with tick 0
    at its first; cut the series to start there. It should reach past the horizon by the longest
    drying time: a coat still wet at its end is answered with a tick past it.
    One step an hour, since air is hourly. Its lag is the longest of its ticks: no answer is too
    early, and none is more than an hour later than that of a coat that ends with the hour.
    Exact in steady air. Steps of equal lag merge.
    """
    ticks = np.arange(horizon_ticks + 1)
    never = max(horizon_ticks, (len(progress) - 1) * ticks_per_hour) + 1
    dry_ticks = dry_at(progress, ticks / ticks_per_hour, amount) * ticks_per_hour
    ready = np.minimum(np.ceil(dry_ticks - _TICK_SLACK), never).astype(np.int64)
    starts = _step_starts(horizon_ticks, ticks_per_hour)
    lags = np.maximum.reduceat(ready - ticks, starts)
    ends = np.append(starts[1:] - 1, horizon_ticks)
    return _non_decreasing(starts, ends, lags)


def next_day_curve(day_starts_ticks: Sequence[int]) -> Curve:
    """Return the curve of "not before the next day": the first day start at or after the end.

    day_starts_ticks: rising, past the horizon (after the last one there is no wait). Raises
    ValueError where they are missing or do not rise.
    """
    starts = tuple(day_starts_ticks)
    if not starts or any(b <= a for a, b in pairwise(starts)):
        raise ValueError("day_starts_ticks: must be at least one tick, and rising")
    return Curve(starts, (0,) * len(starts), starts)


def governing(rule_ready: int, air_ready: int) -> Literal["rule", "air"]:
    """Return what sets a wait: the practice minimum, or air that takes longer than that."""
    return "air" if air_ready > rule_ready else "rule"


def _step_starts(horizon_ticks: int, ticks_per_hour: int) -> TickArray:
    """Return the first tick of each step; the first step also has tick 0, the rest an hour each."""
    later = np.arange(ticks_per_hour + 1, horizon_ticks + 1, ticks_per_hour)
    return np.concatenate(([0], later)).astype(np.int64)


def _non_decreasing(starts: TickArray, ends: TickArray, lags: TickArray) -> Curve:
    steps: list[tuple[int, int, int]] = []
    reached = 0
    for start, end, lag in zip(starts.tolist(), ends.tolist(), lags.tolist(), strict=True):
        floor = reached if start + lag < reached else 0
        reached = max(end + lag, floor)
        if steps and floor == 0 and steps[-1][1] == lag:
            steps[-1] = (end, lag, steps[-1][2])
        else:
            steps.append((end, lag, floor))
    return Curve(*(tuple(column) for column in zip(*steps, strict=True)))
