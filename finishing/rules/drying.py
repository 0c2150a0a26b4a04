"""How long a coat of drying compound stays wet in given air.

The law ``t = 23.0 / (Ps^1.04 (1 - RH)^0.90)`` (hours; Ps in kPa) was fitted to the table "Drying
time, joint compound under tape" of the Gypsum Construction Handbook, finishing chapter (cells
from memory): within 15 % of every cell from 20 to 95 % humidity, 4 % on average. It is for one
tape coat of 1/16 to 5/64 in wet. Air that changes is taken hour by hour: a coat is dry when the
integral of dt / t reaches its amount.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from finishing.rules.units import FloatArray
from finishing.rules.vocabulary import Stage

HUMIDITY_CAP = 0.98
"""The table ends at 98 %; damper measured or outdoor air dries as at 98 %."""
TABLE_COAT_MM = 1.8
"""Wet thickness of the table's coat: the middle of 1/16 in (1.6 mm) and 5/64 in (2.0 mm)."""

STAGE_THICKNESS_MM: Mapping[Stage, float] = MappingProxyType(
    {
        Stage.PREFILL: 3.0,
        Stage.TAPE: 1.8,
        Stage.SECOND: 1.4,
        Stage.FINISH: 0.8,
        Stage.OTHER_FACE: 0.8,
        Stage.SKIM: 1.0,
    }
)
"""Wet thickness of each coat. Assumptions: common practice, no published source."""

DRYNESS_POWER = 0.90
"""The law's power of (1 - RH)."""

_LAW_HOURS = 23.0
_PRESSURE_POWER = 1.04
_KELVIN = 273.15
_TRIPLE_POINT_C = 0.01
_OVER_ICE = (-9.484024e-13, 2.0747825e-9, 6.2215701e-7, -9.677843e-3, 6.3925247)
_OVER_WATER = (-1.4452093e-8, 4.1764768e-5, -4.8640239e-2, 1.3914993)


def saturation_kpa(temperature_c: ArrayLike) -> FloatArray:
    """Return the saturation pressure of water vapour in kPa, over ice below 0.01 C.

    Valid from -100 to 200 C; the shape is that of ``temperature_c`` (a number gives an array of
    no dimensions). Source: Hyland and Wexler (1983) as in the ASHRAE Handbook, Fundamentals,
    Psychrometrics chapter, equations 5 and 6.
    """
    celsius = np.asarray(temperature_c, dtype=np.float64)
    kelvin = celsius + _KELVIN
    log_kelvin = np.log(kelvin)
    log_pascal = -5800.2206 / kelvin + _polynomial(_OVER_WATER, kelvin) + 6.5459673 * log_kelvin
    frost = celsius < _TRIPLE_POINT_C
    if frost.any():
        over_ice = -5674.5359 / kelvin + _polynomial(_OVER_ICE, kelvin) + 4.1635019 * log_kelvin
        log_pascal = np.where(frost, over_ice, log_pascal)
    return np.asarray(np.exp(log_pascal) / 1000.0)


def _polynomial(coefficients: tuple[float, ...], values: FloatArray) -> FloatArray:
    """Return the polynomial, highest power first; numpy's own takes twice as long on an hour."""
    total = coefficients[0] * values
    for coefficient in coefficients[1:-1]:
        total = (total + coefficient) * values
    return total + coefficients[-1]


def drying_hours(temperature_c: ArrayLike, humidity: ArrayLike) -> FloatArray:
    """Return the hours in which the table's coat dries in steady air.

    humidity: relative, a fraction of 1 (capped at ``HUMIDITY_CAP``). The arguments are broadcast
    against each other. Raises ValueError where humidity is not between 0 and 1 or not a number.
    """
    fraction = np.asarray(humidity, dtype=np.float64)
    if not np.all((fraction >= 0.0) & (fraction <= 1.0)):
        raise ValueError("humidity: must be a fraction between 0 and 1 everywhere")
    dryness = 1.0 - np.minimum(fraction, HUMIDITY_CAP)
    return np.asarray(1.0 / (bone_dry_rate(saturation_kpa(temperature_c)) * dryness**DRYNESS_POWER))


def bone_dry_rate(saturation_pressure_kpa: FloatArray) -> FloatArray:
    """Return the share of the table's coat that dries in an hour in air of no humidity.

    In air of humidity RH it is ``(1 - RH)^0.90`` times that. Any shape; it is kept.
    """
    return np.asarray(saturation_pressure_kpa**_PRESSURE_POWER / _LAW_HOURS)


def thickness_amount(wet_mm: float) -> float:
    """Return how much drying a coat needs, with the table's coat as 1.

    Linear in thickness: while the surface stays wet, evaporation alone sets the pace, and the
    water under a square metre grows with thickness. A coat thicker than the table's dries more
    slowly than that towards its end, when water has to reach the surface first.
    """
    return wet_mm / TABLE_COAT_MM


def progress(temperature_c: FloatArray, humidity: FloatArray) -> FloatArray:
    """Return the drying done by the start of each hour and at the end of the last.

    temperature_c, humidity: one value an hour (shape n), each taken to hold for its hour.
    Returns shape n + 1, rising from 0; a coat of amount A that ends at hour e is dry when this
    curve has risen by A since e. Raises ValueError on uneven lengths or missing values.
    """
    if temperature_c.ndim != 1 or temperature_c.shape != humidity.shape:
        raise ValueError("temperature and humidity: must be two series of the same length")
    if not np.all(np.isfinite(temperature_c)):
        raise ValueError("temperature: must be a number in every hour")
    done = np.cumsum(1.0 / drying_hours(temperature_c, humidity))
    return np.concatenate(([0.0], done))


def dry_at(progress: FloatArray, end_hours: ArrayLike, amount: ArrayLike) -> FloatArray:
    """Return when coats that ended at ``end_hours`` have dried by ``amount``.

    All hours count from the start of the series, fractions included; the arguments are broadcast
    against each other. Infinite where the series ends before the coat is dry. Raises ValueError
    for an end before the series or a negative amount.
    """
    ends = np.asarray(end_hours, dtype=np.float64)
    amounts = np.asarray(amount, dtype=np.float64)
    if not (np.all(amounts >= 0) and np.all(ends >= 0)):
        raise ValueError("end_hours and amount: must not be negative")
    edges = np.arange(len(progress), dtype=np.float64)
    wanted = np.interp(ends, edges, progress) + amounts
    dry = np.maximum(np.interp(wanted, progress, edges), ends)
    known = (ends <= edges[-1]) & (wanted <= progress[-1])
    return np.asarray(np.where(known, dry, np.inf))
