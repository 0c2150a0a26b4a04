"""The air a house is to be held at, and the air outside it in the days to come."""

from datetime import datetime

import numpy as np

from finishing.models import House
from finishing.queries.air_sources import CompanyAir
from finishing.queries.volumes import volume_m3
from finishing.rules.climate import relative_humidity, vapour_kpa
from finishing.rules.keeping_up import HeldAir
from scheduling.services.odd_figures import odd_figures
from scheduling.services.stored_air import StoredAir
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

NEXT_HOURS = 7 * 24
"""Air outside is taken as its mean of so many hours to come."""


def held_air(house: House, timeline: Timeline, now: datetime, humidity: float) -> HeldAir | None:
    """Return the air that a house is held at, at a humidity (a fraction): as warm as its set-point,
    else as outdoors; None where no outdoor air is known, or a figure of the house's is none.

    Air outside is the mean of a week: of its temperature and of its vapour.
    """
    sources = CompanyAir(house.company).of(house)
    weather = StoredAir(sources, timeline, now).weather()
    if weather is None or weather.inside or odd_figures(house):
        return None
    first = timeline.tick_before(now) // TICKS_PER_HOUR
    hours = slice(first, first + NEXT_HOURS)
    celsius, outside = weather.air.temperature_c[hours], weather.air.humidity[hours]
    outdoor_c = float(np.mean(celsius))
    vapour = np.mean(vapour_kpa(celsius, outside))
    return HeldAir(
        temperature_c=outdoor_c if house.held_c is None else max(outdoor_c, house.held_c),
        humidity=humidity,
        outdoor_c=outdoor_c,
        outdoor_humidity=float(relative_humidity(outdoor_c, vapour)),
        volume_m3=volume_m3(house),
        air_changes_per_h=house.air_changes_per_h,
    )
