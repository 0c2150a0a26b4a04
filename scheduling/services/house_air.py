"""The air in each house over a timeline: what is known, what is assumed, how it dries."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from finishing.models import AirSource, House
from finishing.queries.air import hourly_air, known_span
from finishing.rules.climate import Air, extend_air, indoor_air
from finishing.rules.drying import progress
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

SPARE_HOURS = 45 * 24
"""Air is looked at so far past the horizon, so that the last coats' drying is known too."""
DAYS_LOOKED_AT = 7
A_DAY = 24

Hours = NDArray[np.float64]
Known = NDArray[np.bool_]


@dataclass(frozen=True)
class HouseAir:
    """Hourly indoor air of a house from the timeline's origin on.

    progress: drying of the table's coat, cumulated at hour edges (one more than the hours).
    known: which hours rest on the record; the others are assumed.
    """

    temperature_c: Hours
    humidity: Hours
    progress: Hours
    known: Known
    kind: str

    @property
    def known_hours(self) -> int:
        """How many hours there are until all that follow are assumed."""
        known = np.flatnonzero(self.known)
        return int(known[-1]) + 1 if known.size else 0

    def source_between(self, first: int, last: int) -> str:
        """Return what the air from tick to tick rests on: ``record``, ``logger`` or ``assumed``."""
        hours = self.known[first // TICKS_PER_HOUR : -(-last // TICKS_PER_HOUR)]
        if not hours.all():
            return "assumed"
        return "logger" if self.kind == AirSource.Kind.LOGGER else "record"


def house_air(house: House, source: AirSource | None, timeline: Timeline) -> HouseAir | None:
    """Return the air of a house, or None where no whole day of air is known.

    A station's air is outdoor air: a heated house keeps its vapour and takes the set-point's
    temperature. A logger's is the house's own.
    """
    outdoor = source and outdoor_air(source, timeline)
    if not source or not outdoor:
        return None
    temperature_c, humidity, known = outdoor
    temperature_c, humidity = air_inside(house, source, Air(temperature_c, humidity))
    return HouseAir(temperature_c, humidity, progress(temperature_c, humidity), known, source.kind)


def air_inside(house: House, source: AirSource, air: Air) -> Air:
    """Return the air inside a house, given that of its source."""
    if source.kind != AirSource.Kind.STATION:
        return air
    setpoint_c = house.setpoint_c if house.heating == "heated" else None
    return indoor_air(*air, setpoint_c=setpoint_c)


def assumed_from(air: HouseAir, timeline: Timeline) -> datetime:
    """Return the UTC hour from which a house's air is assumed."""
    return timeline.origin + timedelta(hours=air.known_hours)


def outdoor_air(source: AirSource, timeline: Timeline) -> tuple[Hours, Hours, Known] | None:
    """Return temperature and humidity without holes from the origin on, and which are known.

    Past the record each hour takes the mean, by hour of day, of its last seven days, however
    long ago they were. A hole in the record takes that of the seven days before it (or after,
    where the record begins later).
    """
    span = known_span(source)
    if span is None:
        return None
    first_hour = min(timeline.origin, span[1] - timedelta(days=DAYS_LOOKED_AT))
    past = (timeline.origin - first_hour) // timedelta(hours=1)
    hours = past + timeline.horizon // TICKS_PER_HOUR + SPARE_HOURS
    temperature_c, humidity = hourly_air(source, first_hour=first_hour, hours=hours)
    known = ~np.isnan(temperature_c) & ~np.isnan(humidity)
    at = np.flatnonzero(known)
    if at.size < A_DAY:
        return None
    end = max(int(at[-1]) + 1, A_DAY)
    extended = extend_air(
        _filled(temperature_c, known)[:end], _filled(humidity, known)[:end], hours
    )
    return extended.temperature_c[past:], extended.humidity[past:], known[past:]


def _filled(values: Hours, known: Known) -> Hours:
    """Return a copy in which hours before the last known one are never missing."""
    filled = np.where(known, values, np.nan)
    last = int(np.flatnonzero(known)[-1])
    for hour in np.flatnonzero(~known[:last]):
        before = filled[hour % A_DAY : hour : A_DAY][-DAYS_LOOKED_AT:]
        after = values[hour + A_DAY : last + 1 : A_DAY][:DAYS_LOOKED_AT]
        near = before if not np.isnan(before).all() else after
        filled[hour] = np.nanmean(near if not np.isnan(near).all() else values[known])
    return filled
