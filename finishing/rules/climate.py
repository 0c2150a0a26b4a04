"""Air: vapour pressure, the air inside a house without its coats, and air past a record's end.

Humidity is relative and a fraction of 1, temperature in degrees Celsius, one value an hour.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from finishing.rules.drying import saturation_kpa
from finishing.rules.units import FloatArray

AIR_PRESSURE_KPA = 101.325
"""Standard atmosphere at sea level, taken everywhere."""
DRY_AIR_KG_PER_M3 = 1.2
"""Standard air. The room's dry air is taken to weigh that much at any temperature."""
MOLE_RATIO = 0.621945
"""Mass of a mole of water over that of dry air (ASHRAE Handbook, Fundamentals)."""
_HOURS_A_DAY = 24
_DAYS_LOOKED_BACK = 7
_DEW_RANGE_C = (-100.0, 200.0)
_HALVINGS = 60


class Air(NamedTuple):
    """Two hourly series of equal length."""

    temperature_c: FloatArray
    humidity: FloatArray


class ExtendedAir(NamedTuple):
    """Hourly air that goes on past its record; ``assumed_from`` is the first assumed hour."""

    temperature_c: FloatArray
    humidity: FloatArray
    assumed_from: int


def vapour_kpa(temperature_c: ArrayLike, humidity: ArrayLike) -> FloatArray:
    """Return the partial pressure of water vapour in kPa."""
    return np.asarray(np.asarray(humidity, dtype=np.float64) * saturation_kpa(temperature_c))


def relative_humidity(temperature_c: ArrayLike, vapour_pressure_kpa: ArrayLike) -> FloatArray:
    """Return relative humidity (a fraction, at most 1) of air with this vapour pressure."""
    pressure = np.asarray(vapour_pressure_kpa, dtype=np.float64)
    return np.minimum(pressure / saturation_kpa(temperature_c), 1.0)


def humidity_ratio(vapour_pressure_kpa: ArrayLike) -> FloatArray:
    """Return kg of water vapour per kg of dry air at sea level; the shape is kept.

    Source: ASHRAE Handbook, Fundamentals, Psychrometrics chapter, ideal gas.
    """
    pressure = np.asarray(vapour_pressure_kpa, dtype=np.float64)
    return np.asarray(MOLE_RATIO * pressure / (AIR_PRESSURE_KPA - pressure))


def dew_point_c(vapour_pressure_kpa: ArrayLike) -> FloatArray:
    """Return the dew point (frost point below 0.01 C) in C, found by halving.

    Between -100 and 200 C, the range of :func:`saturation_kpa`; pressures beyond give an end of it.
    """
    pressure = np.asarray(vapour_pressure_kpa, dtype=np.float64)
    low = np.full(pressure.shape, _DEW_RANGE_C[0])
    high = np.full(pressure.shape, _DEW_RANGE_C[1])
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        below = saturation_kpa(middle) < pressure
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2)


def indoor_air(
    outdoor_c: FloatArray, outdoor_rh: FloatArray, *, setpoint_c: float | None = None
) -> Air:
    """Return the air inside a house that is open to outdoor air.

    setpoint_c: what the heating holds, None for an unheated house (outdoor air). Heating warms
    up to the set point and leaves the vapour pressure as it is outside; it never cools.
    """
    if setpoint_c is None:
        return Air(outdoor_c, np.minimum(outdoor_rh, 1.0))
    indoor_c = np.maximum(outdoor_c, setpoint_c)
    return Air(indoor_c, relative_humidity(indoor_c, vapour_kpa(outdoor_c, outdoor_rh)))


def extend_air(temperature_c: FloatArray, humidity: FloatArray, hours: int) -> ExtendedAir:
    """Return air for at least ``hours`` hours in all, from the start of the record.

    Past its end each hour gets the mean, for its hour of the day, of the last 7 days (of the
    whole days there are, where the record is shorter). A record that is long enough comes back
    as it is. Raises ValueError for a record under 24 hours.
    """
    known = len(temperature_c)
    if known < _HOURS_A_DAY or len(humidity) != known:
        raise ValueError(f"air: {known} hours are on record, at least 24 are needed")
    missing = max(0, hours - known)
    return ExtendedAir(
        np.concatenate((temperature_c, _typical_hours(temperature_c, missing))),
        np.concatenate((humidity, _typical_hours(humidity, missing))),
        known,
    )


def _typical_hours(series: FloatArray, hours: int) -> FloatArray:
    days = min(_DAYS_LOOKED_BACK, len(series) // _HOURS_A_DAY)
    by_hour = series[-days * _HOURS_A_DAY :].reshape(days, _HOURS_A_DAY).mean(axis=0)
    return np.resize(by_hour, hours)
