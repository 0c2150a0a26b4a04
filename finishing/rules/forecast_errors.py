"""How far forecasts were off, by how far ahead they looked.

Error is forecast less what came. Mean error (bias) and mean absolute error are those of forecast
verification (Wilks, Statistical Methods in the Atmospheric Sciences, chapter on verification of
continuous predictands; from memory).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

HOURS_A_DAY = 24
type Hours = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pair:
    """A forecast beside what came: arrays of one length, hour by hour from the one in which it was
    made; NaN where either is not known. Celsius, and relative humidity as a fraction."""

    forecast_c: Hours
    came_c: Hours
    forecast_humidity: Hours
    came_humidity: Hours


@dataclass(frozen=True, slots=True)
class LeadError:
    """Errors of a day of lead: 1 for the first 24 hours. hours: that both figures are known of.
    bias_*: mean error; miss_*: mean absolute error. Kelvin, and humidity in fractions."""

    day: int
    hours: int
    bias_c: float
    miss_c: float
    bias_humidity: float
    miss_humidity: float


def errors_by_lead(pairs: Iterable[Pair]) -> list[LeadError]:
    """Return the errors of all days of lead of which any hour is known. Raises ValueError for a
    pair whose arrays differ in length."""
    temperature: list[Hours] = []
    humidity: list[Hours] = []
    for pair in pairs:
        temperature.append(_error(pair.forecast_c, pair.came_c))
        humidity.append(_error(pair.forecast_humidity, pair.came_humidity))
        if len(temperature[-1]) != len(humidity[-1]):
            raise ValueError("temperature and humidity of different hours")
    longest = max((len(one) for one in temperature), default=0)
    days = range(-(-longest // HOURS_A_DAY))
    return [found for day in days if (found := _of_day(day, temperature, humidity))]


def _error(forecast: Hours, came: Hours) -> Hours:
    if len(forecast) != len(came):
        raise ValueError("a forecast and what came of different hours")
    error: Hours = np.subtract(forecast, came, dtype=float)
    return error


def _of_day(day: int, temperature: Sequence[Hours], humidity: Sequence[Hours]) -> LeadError | None:
    hours = slice(day * HOURS_A_DAY, (day + 1) * HOURS_A_DAY)
    kelvin = np.concatenate([one[hours] for one in temperature])
    fractions = np.concatenate([one[hours] for one in humidity])
    known = np.isfinite(kelvin) & np.isfinite(fractions)
    if not known.any():
        return None
    kelvin, fractions = kelvin[known], fractions[known]
    return LeadError(
        day=day + 1,
        hours=int(known.sum()),
        bias_c=float(kelvin.mean()),
        miss_c=float(np.abs(kelvin).mean()),
        bias_humidity=float(fractions.mean()),
        miss_humidity=float(np.abs(fractions).mean()),
    )
