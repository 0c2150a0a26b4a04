"""Dehumidifiers: what one takes out of cooler and drier air than it was rated in.

The curve is the generic one of Winkler, Christensen and Tomerlin, Laboratory Test Report for Six
ENERGY STAR Dehumidifiers (NREL/TP-5500-52791, 2011), which is 1 at 26.7 C and 60 % within 2 %.
Desiccant dryers, which weaken less in the cold, are not covered.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from finishing.rules.climate_faults import BoolArray
from finishing.rules.units import FloatArray, Numbers

HUMIDISTAT_BAND = 0.02
"""A dryer starts so far below what it holds and runs all the time above that: an assumption that
stands for switching on and off."""

_HOURS_A_DAY = 24.0
_KG_PER_L = 1.0
_CONSTANT, _C, _C2, _PERCENT, _PERCENT2, _C_PERCENT = (
    -1.162525707,
    0.02271469,
    -0.000113208,
    0.021110538,
    -0.0000693034,
    0.000378843,
)


def relative_removal(temperature_c: ArrayLike, humidity: ArrayLike) -> FloatArray:
    """Return water taken out, as a share of that at 26.7 C and 60 %; never below 0.

    humidity: relative, a fraction of 1. The arguments are broadcast against each other.
    """
    celsius = np.asarray(temperature_c, dtype=np.float64)
    percent = 100.0 * np.asarray(humidity, dtype=np.float64)
    share = (
        _CONSTANT
        + celsius * (_C + _C2 * celsius)
        + percent * (_PERCENT + _PERCENT2 * percent + _C_PERCENT * celsius)
    )
    return np.asarray(np.maximum(share, 0.0))


def removal_kg_per_h(
    temperature_c: ArrayLike,
    humidity: ArrayLike,
    *,
    rated_l_per_day: Numbers,
    rated_c: Numbers = 26.7,
    rated_humidity: Numbers = 0.6,
    least_c: Numbers = 5.0,
) -> FloatArray:
    """Return kg of water that a dryer, running all the time, takes out in an hour.

    rated_l_per_day at rated_c and rated_humidity (a fraction): as its maker states them; ratings
    at 30 C and 80 % are much higher than at 26.7 C and 60 %. Below least_c it stops. All
    arguments are broadcast against each other. Raises ValueError for a rating in air from which
    no dryer takes water.
    """
    at_rating = relative_removal(rated_c, rated_humidity)
    if not np.all(at_rating > 0):
        raise ValueError("rated_c and rated_humidity: no dryer takes water out of that air")
    per_h = rated_l_per_day * _KG_PER_L / _HOURS_A_DAY
    runs = np.asarray(temperature_c, dtype=np.float64) >= least_c
    return np.asarray(runs * per_h * relative_removal(temperature_c, humidity) / at_rating)


class DryerHour(NamedTuple):
    """All dryers of each house in one hour (shapes: houses).

    Running all the time they would take out ``constant + linear RH + square RH^2`` kg (see
    :func:`removal_law`). left_kg: room in the tanks.
    """

    constant: FloatArray
    linear: FloatArray
    square: FloatArray
    hold_humidity: FloatArray
    left_kg: FloatArray

    def run_at(self, humidity: FloatArray) -> BoolArray:
        """Return where dryers would start at this humidity."""
        can = (self.square != 0.0) & (self.left_kg > 0.0)
        return np.asarray(can & (humidity > self.hold_humidity - HUMIDISTAT_BAND))

    def removed_kg(self, humidity: FloatArray) -> FloatArray:
        """Return kg taken out in the hour at this humidity."""
        above = (humidity - self.hold_humidity) / HUMIDISTAT_BAND + 1.0
        running = np.minimum(np.maximum(above, 0.0), 1.0)
        full_kg = self.constant + humidity * (self.linear + humidity * self.square)
        return np.asarray(np.minimum(np.maximum(full_kg, 0.0) * running, self.left_kg))


def kinks(hold_humidity: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the humidity from which dryers run all the time, and that at which they start."""
    return hold_humidity, np.maximum(hold_humidity - HUMIDISTAT_BAND, 0.0)


def removal_law(
    rating_kg: FloatArray, temperature_c: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what dryers take out that run all the time, in parts: constant, linear, square.

    rating_kg: what they take out at 26.7 C and 60 %. Any shape; it is kept.
    """
    celsius = temperature_c
    return (
        rating_kg * (_CONSTANT + celsius * (_C + _C2 * celsius)),
        rating_kg * 100.0 * (_PERCENT + _C_PERCENT * celsius),
        rating_kg * 100.0**2 * _PERCENT2,
    )
