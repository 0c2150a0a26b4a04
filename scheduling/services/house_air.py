"""The air in each house over a timeline: what is known, what is assumed, how it dries."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from finishing.models import House
from finishing.rules.climate import Air, indoor_air
from scheduling.services.air_layers import ASSUMED, KINDS, Hours, Kinds
from scheduling.services.laid_coats import LaidCoat
from scheduling.services.stored_air import Weather
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline
from scheduling.services.wet_looks import NO_LOOKS, HouseLooks


@dataclass(frozen=True)
class HouseWater:
    """A house's water by hour, in kg: still in its coats and condensed at the end of the hour;
    given off by coats and taken out by dryers in the course of it."""

    in_coats_kg: Hours
    condensed_kg: Hours
    evaporated_kg: Hours
    removed_kg: Hours


@dataclass(frozen=True)
class HouseAir:
    """Hourly indoor air of a house from the timeline's origin on, with its coats in it.

    progress: drying of the table's coat, cumulated at hour edges (one more than the hours).
    kinds: what each hour rests on, as a place in ``air_layers.KINDS``. laid: the coats it was
    worked out with. warmer_c, drying_share: what walls, air change, coats and dryers make of the
    air that ``air_inside`` gives, in kelvin and as a share of its drying. slower: by coat (stage
    key) the progress that its waits go by instead, where it was found to dry more slowly. looks:
    what crews have found wet in it.
    """

    temperature_c: Hours
    humidity: Hours
    progress: Hours
    kinds: Kinds
    water: HouseWater
    laid: tuple[LaidCoat, ...]
    warmer_c: Hours
    drying_share: Hours
    slower: Mapping[str, Hours] = field(default_factory=dict)
    looks: HouseLooks = NO_LOOKS

    def progress_for(self, coat: str) -> Hours:
        """Return the progress that a coat (stage key) is taken to dry by."""
        return self.slower.get(coat, self.progress)

    def amount_of(self, coat: str, amount: float) -> float:
        """Return the drying that a coat (stage key) is taken to need here, ``amount`` by itself."""
        return self.looks.thickness.amount_of(coat, amount)

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


def air_inside(house: House, weather: Weather, air: Air) -> Air:
    """Return what air of a house's weather is like inside but for its walls, air change and wet
    coats: a heated house keeps the vapour of outdoor air and takes the set-point's temperature."""
    if weather.inside:
        return air
    return indoor_air(*air, setpoint_c=house.held_c)


def assumed_from(air: HouseAir, timeline: Timeline) -> datetime:
    """Return the UTC hour from which a house's air is assumed."""
    return timeline.origin + timedelta(hours=air.known_hours)
