"""The air of a house as a cautious company plans with it: waits hold in 8 of 10 histories."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, time

import numpy as np

from finishing.models import House
from finishing.queries.air_sources import HouseSources
from finishing.rules.cautious import cautious_progress, cautious_temperature_c
from finishing.rules.ensemble import Ensemble
from scheduling.services.house_air import HouseAir
from scheduling.services.source_histories import DrawnAir
from scheduling.services.stored_air import SPARE_HOURS
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline
from scheduling.services.weather_shift import WeatherShift

HISTORIES = 200
SEED = 1
"""Always the same draw, so that planning again with nothing new gives the same waits."""


class CautiousAir:
    """Makes the air of houses cautious; houses of one weather share one draw."""

    def __init__(
        self, timeline: Timeline, now: datetime, shifts: Sequence[WeatherShift] = ()
    ) -> None:
        whole_days = (timeline.horizon // TICKS_PER_HOUR + SPARE_HOURS) // 24 - 1
        self._drawn = DrawnAir(
            timeline,
            now,
            first=datetime.combine(now.astimezone(UTC).date(), time.min, UTC),
            until=whole_days * 24 * TICKS_PER_HOUR,
            count=HISTORIES,
            seed=SEED,
            shifts=shifts,
        )

    def of(self, house: House, sources: HouseSources, air: HouseAir) -> HouseAir:
        """Return a house's air with the drying and the temperature that hold in 8 of 10 histories.

        Its humidity stays what is expected. Raises TooLittleAirError.
        """
        start = self._drawn.start
        drawn = self._drawn.inside(house, sources)
        hours = slice(start, start + drawn.temperature_c.shape[1])
        inside = Ensemble.of(
            *drawn, warmer_c=air.warmer_c[hours], drying_share=air.drying_share[hours]
        )
        temperature_c = cautious_temperature_c(inside.temperature_c)
        progress = air.progress[start] + cautious_progress(inside.progress)
        end = start + len(temperature_c)
        return replace(
            air,
            temperature_c=np.concatenate((air.temperature_c[:start], temperature_c)),
            humidity=air.humidity[:end],
            progress=np.concatenate((air.progress[:start], progress)),
            kinds=air.kinds[:end],
            warmer_c=air.warmer_c[:end],
            drying_share=air.drying_share[:end],
        )
