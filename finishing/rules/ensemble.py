"""Drying and cold in many histories of one house's air at once.

Arrays have a row for each history and a column for each hour (or hour edge, one more).
"""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishing.rules.drying import drying_hours
from finishing.rules.units import FloatArray

type HourArray = NDArray[np.int64]

_LONG_AGO = -(10**6)


@dataclass(frozen=True)
class Ensemble:
    """What may come of one house's air.

    progress: drying of the table's coat done by each hour edge, from the first hour on.
    """

    temperature_c: FloatArray
    humidity: FloatArray
    progress: FloatArray
    _end_to_end: FloatArray
    _apart: float

    @classmethod
    def of(
        cls,
        temperature_c: FloatArray,
        humidity: FloatArray,
        *,
        warmer_c: ArrayLike = 0.0,
        drying_share: ArrayLike = 1.0,
    ) -> Self:
        """Return the ensemble of hourly air; see :func:`finishing.rules.drying.drying_hours`.

        warmer_c, drying_share: by how much a house is warmer in an hour than that air, and how
        much it dries of what that air would (its own walls, air change and wet coats; broadcast).
        """
        rate = np.asarray(drying_share) / drying_hours(temperature_c, humidity)
        done = np.cumsum(rate, axis=1)
        temperature_c = temperature_c + np.asarray(warmer_c)
        progress = np.concatenate((np.zeros((len(done), 1)), done), axis=1)
        # Rows end to end, each raised above the one before, are one rising series: one search
        # finds a value in each row.
        apart = float(progress[:, -1].max()) + 1.0
        raised = progress + apart * np.arange(len(progress))[:, None]
        return cls(temperature_c, humidity, progress, raised.ravel(), apart)

    @property
    def histories(self) -> int:
        return int(self.progress.shape[0])

    @property
    def hours(self) -> int:
        return int(self.progress.shape[1]) - 1

    def dry_at(self, end_hours: FloatArray, amount: float) -> FloatArray:
        """Return for each history when a coat that ended at its hour has dried by ``amount``.

        end_hours: one for each history (shape: histories), from the first hour on, at least 0,
        fractions included. Infinite where a history ends before the coat is dry.
        """
        rows = np.arange(self.histories)
        inside = np.clip(end_hours, 0, self.hours - 1e-9)
        hour = inside.astype(np.int64)
        rate = self.progress[rows, hour + 1] - self.progress[rows, hour]
        wanted = self.progress[rows, hour] + (inside - hour) * rate + amount
        edge = np.searchsorted(self._end_to_end, wanted + self._apart * rows)
        edge = np.clip(edge - rows * (self.hours + 1), 1, self.hours)
        upper, lower = self.progress[rows, edge], self.progress[rows, edge - 1]
        rises = upper - lower  # nothing dries in an hour of saturated air
        within = np.divide(wanted - lower, rises, out=np.zeros_like(rises), where=rises > 0)
        dry = edge - 1 + np.clip(within, 0.0, 1.0)
        known = (end_hours <= self.hours) & (wanted <= self.progress[:, -1])
        return np.asarray(np.where(known, np.maximum(dry, end_hours), np.inf))


@dataclass(frozen=True)
class Limits:
    """Temperatures that a coat asks for: at least minimum_c from conditioning_hours before it
    until it is over, at most maximum_c while it is.

    work_hours: the longest it takes to put on. amount: the drying until it is over; None where it
    is over so many hours after it was put on (``set_hours``), whatever the air.
    """

    minimum_c: float
    maximum_c: float
    conditioning_hours: float
    work_hours: float
    amount: float | None = None
    set_hours: float = 0.0


class WarmStarts:
    """From when on a coat may start in each history, given the cold: finishing/rules/cold.py for
    many histories, with nothing tabulated but the last cold and the last hot hour."""

    def __init__(self, air: Ensemble, minimum_c: float, maximum_c: float) -> None:
        self._air = air
        self._last_cold = _last_before(air.temperature_c < minimum_c)
        self._last_hot = _last_before(air.temperature_c > maximum_c)
        self.always = bool(self._last_cold.max() < 0 and self._last_hot.max() < 0)

    def first_from(self, hours: HourArray, limits: Limits) -> HourArray:
        """Return by history the first hour, not before the one given, in which a coat may start.

        limits: with the temperatures that this was made for. An hour past the end of the air
        stands for none.
        """
        rows, end = np.arange(self._air.histories), self._air.hours
        hour = np.minimum(hours, end)
        while True:
            over = self._over(hour, limits)
            edge = np.ceil(np.minimum(over, end)).astype(np.int64)
            cold = self._last_cold[rows, edge] + 1 + int(np.ceil(limits.conditioning_hours))
            hot = self._last_hot[rows, edge] + 1
            later = np.where(over > end, end, np.maximum(cold, hot))
            later = np.maximum(hour, np.minimum(later, end))
            if np.array_equal(later, hour):
                return hour
            hour = later

    def _over(self, hour: HourArray, limits: Limits) -> FloatArray:
        """Return by when a coat that starts late in an hour is over, infinite if not known."""
        ended = hour + (1.0 + limits.work_hours)
        if limits.amount is None:
            return np.asarray(ended + limits.set_hours)
        return self._air.dry_at(np.minimum(ended, float(self._air.hours)), limits.amount)


def _last_before(holds: NDArray[np.bool_]) -> HourArray:
    """Return by history and hour edge the last hour before it that holds, or one long ago."""
    hours = np.where(holds, np.arange(holds.shape[1]), _LONG_AGO)
    last = np.maximum.accumulate(hours, axis=1)
    return np.concatenate((np.full((len(last), 1), _LONG_AGO), last), axis=1)
