"""The air in each house over a timeline: what is known, what is assumed, how it dries."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from finishing.models import AirSource, House
from finishing.queries.air import hourly_air
from finishing.rules.climate import extend_air, indoor_air
from finishing.rules.drying import progress
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

SPARE_HOURS = 45 * 24
"""Air is looked at so far past the horizon, so that the last coats' drying is known too."""

Hours = NDArray[np.float64]


@dataclass(frozen=True)
class HouseAir:
    """Hourly indoor air of a house from the timeline's origin on.

    progress: drying of the table's coat, cumulated at hour edges (one more than the hours).
    known_hours: how many hours from the origin rest on the record; the rest are assumed.
    """

    temperature_c: Hours
    humidity: Hours
    progress: Hours
    known_hours: int
    kind: str

    def source_at(self, tick: int) -> str:
        """Return what the air at a tick rests on: ``record``, ``logger`` or ``assumed``."""
        if tick > self.known_hours * TICKS_PER_HOUR:
            return "assumed"
        return "logger" if self.kind == AirSource.Kind.LOGGER else "record"


def house_air(house: House, source: AirSource | None, timeline: Timeline) -> HouseAir | None:
    """Return the air of a house, or None where no air is known at all.

    A station's air is outdoor air: a heated house keeps its vapour and takes the set-point's
    temperature. A logger's is the house's own.
    """
    outdoor = source and _known_then_assumed(source, timeline)
    if not source or not outdoor:
        return None
    temperature_c, humidity, known_hours = outdoor
    if source.kind == AirSource.Kind.STATION:
        setpoint_c = house.setpoint_c if house.heating == "heated" else None
        temperature_c, humidity = indoor_air(temperature_c, humidity, setpoint_c=setpoint_c)
    return HouseAir(
        temperature_c, humidity, progress(temperature_c, humidity), known_hours, source.kind
    )


def assumed_from(air: HouseAir, timeline: Timeline) -> datetime:
    """Return the UTC hour from which a house's air is assumed."""
    return timeline.origin + timedelta(hours=air.known_hours)


def _known_then_assumed(source: AirSource, timeline: Timeline) -> tuple[Hours, Hours, int] | None:
    """Return temperature, humidity and the number of known hours, without holes.

    Hours before the record begins, or missing inside it, take the mean of the record's first,
    or next, days by hour of day, as hours past its end take that of the last seven days.
    """
    hours = timeline.horizon // TICKS_PER_HOUR + SPARE_HOURS
    temperature_c, humidity = hourly_air(source, first_hour=timeline.origin, hours=hours)
    known = np.flatnonzero(~np.isnan(temperature_c) & ~np.isnan(humidity))
    if known.size == 0:
        return None
    first, last = int(known[0]), int(known[-1]) + 1
    temperature_c, humidity = _filled(temperature_c, first, last), _filled(humidity, first, last)
    if last - first < 24:
        return None
    temperature_c[:first] = _by_hour_of_day(temperature_c[first : first + 24], first)
    humidity[:first] = _by_hour_of_day(humidity[first : first + 24], first)
    extended = extend_air(temperature_c[:last], humidity[:last], hours)
    return extended[0], extended[1], last


def _by_hour_of_day(day: Hours, first: int) -> Hours:
    """Return ``first`` hours that repeat a day backwards from where it begins."""
    return np.tile(day, first // 24 + 1)[-first:] if first else day[:0]


def _filled(values: Hours, first: int, last: int) -> Hours:
    """Return a copy whose holes between ``first`` and ``last`` are bridged in a straight line."""
    filled = values.copy()
    hours = np.arange(first, last)
    known = hours[~np.isnan(values[first:last])]
    filled[first:last] = np.interp(hours, known, values[known])
    return filled
