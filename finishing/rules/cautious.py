"""Air to plan against so that waits hold in 8 of 10 of the histories that may come.

Over any stretch as long as a coat usually dries, cautious air dries no more than the slowest fifth
of the histories do; within it, its hours keep the course of the day.
"""

import numpy as np

from finishing.rules.units import FloatArray

STRETCH_HOURS = 48
"""A tape coat dries in 20 to 60 hours; coats that dry sooner hold a little less often, slower
ones a little more (tests/finishing/rules/test_cautious.py)."""
SHARE = 0.8


def cautious_progress(progress: FloatArray) -> FloatArray:
    """Return the drying done by each hour edge in cautious air.

    progress: the same in each history, shape (histories, hours + 1). Returns shape (hours + 1).
    """
    hours = np.arange(progress.shape[1] - 1)
    before = np.maximum(hours - STRETCH_HOURS // 2, 0)
    after = np.minimum(hours + STRETCH_HOURS // 2, len(hours))
    around = progress[:, after] - progress[:, before]
    mean = around.mean(axis=0)
    slow = np.quantile(around, 1 - SHARE, axis=0)
    slowed = np.divide(slow, mean, out=np.ones_like(mean), where=mean > 0)
    mean_rate = np.diff(progress.mean(axis=0))
    return np.concatenate(([0.0], np.cumsum(mean_rate * slowed)))


def cautious_temperature_c(temperature_c: FloatArray) -> FloatArray:
    """Return by hour the temperature that 8 of 10 histories (rows) have or exceed."""
    return np.asarray(np.quantile(temperature_c, 1 - SHARE, axis=0))
