"""Hours in which a coat may start, given the cold.

Source: ASTM C840, section 4: joint treatment at 10 C or more from 48 hours before it until it is
dry, and at most 35 C under temporary heat. A compound's own limits take the place of these.
"""

import numpy as np
from numpy.typing import NDArray

from finishing.rules.units import FloatArray

TEMPORARY_HEAT_C = 35.0
"""No thermostat of a heater is set above this: the most under temporary heat, by ASTM C840."""
LEAST_HOLD_C = 5.0
"""None is set below this: it keeps frost out (common practice, no published source)."""

LEAST_C = 10.0
"""Joint treatment is for 10 C or more: ASTM C840, section 4."""

type BoolArray = NDArray[np.bool_]


def starts_in_range(
    temperature_c: FloatArray,
    *,
    dry_hours_after: FloatArray,
    minimum_c: float,
    maximum_c: float,
    conditioning_hours: float,
) -> BoolArray:
    """Return for each hour whether a coat may start in it: True where the cold leaves it open.

    temperature_c: hourly air at the house (shape n), from at least ``conditioning_hours`` before
    the first hour of interest; hours before the series are taken to be as its first.
    dry_hours_after: shape n, hours from the start of that hour until the latest moment at which a
    coat that starts in it is dry (or set); infinite where that is not known.
    Open hours have minimum_c or more in every hour from conditioning_hours before until dry, and
    at most maximum_c from the start until dry. An hour whose coat would dry after the series is
    not open. Raises ValueError on uneven lengths.
    """
    if temperature_c.shape != dry_hours_after.shape:
        raise ValueError("dry_hours_after: must have one value for each hour of temperature")
    hours = np.arange(len(temperature_c))
    known = hours + dry_hours_after <= len(temperature_c)
    dry = np.where(known, np.ceil(hours + dry_hours_after), hours).astype(np.int64)
    warming = np.maximum(np.floor(hours - conditioning_hours), 0).astype(np.int64)
    too_cold = _hours_counted(~(temperature_c >= minimum_c))
    too_hot = _hours_counted(~(temperature_c <= maximum_c))
    after = np.maximum(dry, np.minimum(hours + 1, len(temperature_c)))
    cold_free = too_cold[after] == too_cold[warming]
    return np.asarray(known & cold_free & (too_hot[after] == too_hot[hours]))


def _hours_counted(holds: BoolArray) -> NDArray[np.int64]:
    """Return how many hours hold before each hour edge (shape n + 1)."""
    return np.concatenate(([0], np.cumsum(holds)))
