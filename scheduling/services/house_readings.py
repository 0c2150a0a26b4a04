"""What people have read in a house, beside the model of its air."""

import numpy as np
from numpy.typing import NDArray

from finishing.rules.climate import Air
from finishing.rules.readings import Reading, corrected_air
from scheduling.services.air_layers import ASSUMED, Layer

CALLED_READ_HOURS = 6
"""Air of so many hours from a reading on is said to rest on it, though the offset fades over two
days: common practice is a reading when a crew comes and one when it leaves."""


def with_readings(model: Layer, readings: Layer, is_logged: NDArray[np.bool_]) -> Layer:
    """Return a house's air corrected by readings (of hours without one, the layer knows nothing).

    Where a device logs the house, a reading counts for its own hour and no longer.
    """
    read = readings.kinds != ASSUMED
    carried = readings.only(read & ~is_logged)
    at = np.flatnonzero(carried.kinds != ASSUMED)
    values = zip(at.tolist(), carried.temperature_c[at], carried.humidity[at], strict=True)
    corrected = corrected_air(Air(*model[:2]), [Reading(*one) for one in values])
    kinds = np.minimum(carried.held(CALLED_READ_HOURS).kinds, model.kinds)
    air = Layer(*corrected, kinds)
    return readings.over(model.where(is_logged, air))
