"""The air in each house over a timeline: what is known, what is assumed, how it dries."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from finishing.models import House
from finishing.queries.air_sources import HouseSources
from finishing.rules.climate import Air, indoor_air
from finishing.rules.drying import progress
from scheduling.services.air_layers import ASSUMED, KINDS, Hours, Kinds, Layer
from scheduling.services.stored_air import StoredAir, Weather
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline


@dataclass(frozen=True)
class HouseAir:
    """Hourly indoor air of a house from the timeline's origin on.

    progress: drying of the table's coat, cumulated at hour edges (one more than the hours).
    kinds: what each hour rests on, as a place in ``air_layers.KINDS``.
    """

    temperature_c: Hours
    humidity: Hours
    progress: Hours
    kinds: Kinds

    @property
    def known_hours(self) -> int:
        """How many hours there are until all that follow are assumed."""
        known = np.flatnonzero(self.kinds != ASSUMED)
        return int(known[-1]) + 1 if known.size else 0

    def source_between(self, first: int, last: int) -> str:
        """Return what the air from tick to tick rests on: the least firm of its hours' KINDS."""
        first_hour = max(first, 0) // TICKS_PER_HOUR
        last_hour = max(-(-last // TICKS_PER_HOUR), first_hour + 1)
        return KINDS[int(self.kinds[first_hour:last_hour].max())]


def house_air(
    house: House, sources: HouseSources, timeline: Timeline, now: datetime
) -> HouseAir | None:
    """Return the air of a house, or None where no whole day of air is known.

    What is measured in the house comes first, then its weather (``stored_air``). Where that is
    only assumed, a logged house goes on as it was logged.
    """
    stored = StoredAir(sources, timeline, now)
    weather = stored.weather()
    if weather is None:
        return None
    around = Layer(*air_inside(house, weather, Air(*weather.air[:2])), weather.air.kinds)
    air = stored.measured().over(around)
    if logged := stored.logged():
        air = air.over(logged)
    return HouseAir(air.temperature_c, air.humidity, progress(*air[:2]), air.kinds)


def air_inside(house: House, weather: Weather, air: Air) -> Air:
    """Return what air of a house's weather is like inside: a heated house keeps the vapour of
    outdoor air and takes the set-point's temperature."""
    if weather.inside:
        return air
    setpoint_c = house.setpoint_c if house.heating == "heated" else None
    return indoor_air(*air, setpoint_c=setpoint_c)


def assumed_from(air: HouseAir, timeline: Timeline) -> datetime:
    """Return the UTC hour from which a house's air is assumed."""
    return timeline.origin + timedelta(hours=air.known_hours)
