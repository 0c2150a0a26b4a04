"""Hourly air from several sources, the better one first, and what each hour rests on."""

from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from finishing.queries.air import HourlyAir
from finishing.rules.climate import Air, extend_air

KINDS = ("reading", "logger", "record", "forecast", "assumed")
"""What an hour may rest on, the firmest first."""
ASSUMED = KINDS.index("assumed")
DAYS_LOOKED_AT = 7
A_DAY = 24

Hours = NDArray[np.float64]
Kinds = NDArray[np.int8]


class Layer(NamedTuple):
    """Hourly air; ``kinds`` are places in KINDS, ASSUMED where the layer does not know the hour."""

    temperature_c: Hours
    humidity: Hours
    kinds: Kinds

    @classmethod
    def of(cls, air: HourlyAir, kind: str) -> Self:
        """Return the hours that are known, as one kind."""
        known = ~np.isnan(air.temperature_c) & ~np.isnan(air.humidity)
        kinds = np.where(known, KINDS.index(kind), ASSUMED).astype(np.int8)
        return cls(air.temperature_c, air.humidity, kinds)

    def over(self, lower: "Layer") -> "Layer":
        """Return this layer with the hours it does not know from a lower one."""
        return self.where(self.kinds != ASSUMED, lower)

    def where(self, hours: NDArray[np.bool_], other: "Layer") -> "Layer":
        """Return this layer in some hours and another in the rest."""
        return Layer(
            np.where(hours, self.temperature_c, other.temperature_c),
            np.where(hours, self.humidity, other.humidity),
            np.where(hours, self.kinds, other.kinds),
        )

    def first_from(self, hour: int) -> "Layer":
        """Return the layer without what it says of the hours before one."""
        return self.only(np.arange(len(self.kinds)) >= hour)

    def only(self, hours: NDArray[np.bool_]) -> "Layer":
        """Return the layer without what it says of other hours."""
        return self._replace(kinds=np.where(hours, self.kinds, ASSUMED).astype(np.int8))

    def held(self, hours: int) -> "Layer":
        """Return the layer with each known hour standing for those after it too, so many in all,
        up to the next that is known."""
        at = np.arange(len(self.kinds))
        latest = np.maximum.accumulate(np.where(self.kinds != ASSUMED, at, -hours))
        from_hour = np.where(at - latest < hours, np.maximum(latest, 0), at)
        return self.picked(from_hour)

    def picked(self, hours: NDArray[np.intp] | slice) -> "Layer":
        return Layer(self.temperature_c[hours], self.humidity[hours], self.kinds[hours])


def without_holes(layer: Layer) -> Air | None:
    """Return a layer's air with every hour filled; None where it knows less than a day in all.

    Past the last known hour each takes the mean, by hour of day, of the last seven days, however
    long ago they were. A hole takes that of the seven days before it (or after, where the layer
    begins later).
    """
    known = layer.kinds != ASSUMED
    at = np.flatnonzero(known)
    if at.size < A_DAY:
        return None
    end = max(int(at[-1]) + 1, A_DAY)
    filled = extend_air(
        _filled(layer.temperature_c, known)[:end], _filled(layer.humidity, known)[:end], len(known)
    )
    return Air(filled.temperature_c, filled.humidity)


def _filled(values: Hours, known: NDArray[np.bool_]) -> Hours:
    """Return a copy in which hours before the last known one are never missing."""
    values = np.where(known, values, np.nan)
    filled = values.copy()
    last = int(np.flatnonzero(known)[-1])
    for hour in np.flatnonzero(~known[:last]):
        before = filled[hour % A_DAY : hour : A_DAY][-DAYS_LOOKED_AT:]
        after = values[hour + A_DAY : last + 1 : A_DAY][:DAYS_LOOKED_AT]
        near = before if not np.isnan(before).all() else after
        filled[hour] = np.nanmean(near if not np.isnan(near).all() else values[known])
    return filled
