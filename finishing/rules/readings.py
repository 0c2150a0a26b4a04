"""Readings correct the model: how far a house was off when somebody measured is carried forward.

Temperature is carried in kelvin and humidity as vapour pressure, not as relative humidity. What a
model gets wrong is mostly water (a leak, a drier, a window left open), and a source that it does
not know of adds about the same vapour pressure by day and by night; relative humidity moves with
warmth too, so an offset in it taken at noon would bring water from nowhere into the night.

Assumptions: an offset fades evenly over two days, after which the model stands alone again; a new
reading replaces the one before it, since it is measured against the model as no reading has
changed it.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from finishing.rules.climate import Air, vapour_kpa
from finishing.rules.climate_faults import Checks, ClimateError
from finishing.rules.drying import saturation_kpa
from finishing.rules.units import FloatArray

FADES_OVER_HOURS = 48.0
_TEMPERATURES_C = (-60.0, 80.0)


class Reading(NamedTuple):
    """Air measured in a house.

    hour: from the start of the model's series, fractions included. humidity: a fraction.
    """

    hour: float
    temperature_c: float
    humidity: float


def corrected_air(model: Air, readings: Sequence[Reading]) -> Air:
    """Return one house's air, hour by hour, corrected by what was measured in it.

    model: hourly series of shape n each, value i for hour i to i + 1. readings: in any order; of
    one hour, the latest counts, and of one moment the last given. The hour of a reading gets what
    was read; hours before the first and 48 or more after the last one stay as they are, to the
    bit. Humidity stays from 0 to 1: what would be more lies on surfaces, what would be less was
    not there. Raises :class:`climate_faults.ClimateError` (a ValueError) with every fault.
    """
    read = np.array(readings, dtype=np.float64).reshape(-1, len(Reading._fields))
    read = read[np.argsort(read[:, 0], kind="stable")]
    _check(model, Reading(*read.T))
    if not len(read):
        return model
    taken, read_c, read_humidity = read.T
    at = taken.astype(np.int64)
    hours = np.arange(len(model.temperature_c))
    latest = np.searchsorted(at, hours, side="right") - 1
    vapour = vapour_kpa(model.temperature_c, model.humidity)
    off_c = read_c - model.temperature_c[at]
    off_kpa = vapour_kpa(read_c, read_humidity) - vapour[at]
    share = np.where(latest < 0, 0.0, share_left(hours - taken[latest]))
    corrected_c = model.temperature_c + share * off_c[latest]
    corrected = (vapour + share * off_kpa[latest]) / saturation_kpa(corrected_c)
    humidity = np.where(share > 0.0, np.clip(corrected, 0.0, 1.0), model.humidity)
    return Air(corrected_c, humidity)


def share_left(hours_since: FloatArray) -> FloatArray:
    """Return the share of an offset that still counts so many hours after its reading.

    Any shape, kept; 1 up to the reading, 0 from 48 hours on.
    """
    return np.clip(1.0 - hours_since / FADES_OVER_HOURS, 0.0, 1.0)


def _check(model: Air, readings: Reading) -> None:
    """Expect a model of two whole series, and readings (arrays, by time) within its hours."""
    hours = len(model.temperature_c)
    if model.temperature_c.shape != (hours,) or model.humidity.shape != (hours,):
        raise ClimateError(["model: temperature and humidity must be two series of one length"])
    checks = Checks(1, hours)
    hour, reading = ("hour",), ("reading, by time,",)
    checks.between("model temperature_c", model.temperature_c, *_TEMPERATURES_C, words=hour)
    checks.fraction("model humidity", model.humidity, words=hour)
    last = np.nextafter(float(hours), 0.0)
    checks.between("hour of a reading", np.asarray(readings.hour), 0.0, last, words=reading)
    read_c, humidity = np.asarray(readings.temperature_c), np.asarray(readings.humidity)
    checks.between("temperature_c read", read_c, *_TEMPERATURES_C, words=reading)
    checks.fraction("humidity read", humidity, words=reading)
    checks.raise_if_any()
