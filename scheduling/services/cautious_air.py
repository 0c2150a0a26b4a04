"""The air of a house as a cautious company plans with it: waits hold in 8 of 10 histories."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta

import numpy as np

from finishing.models import AirSource, House
from finishing.rules.cautious import cautious_progress, cautious_temperature_c
from finishing.rules.climate import Air
from finishing.rules.ensemble import Ensemble
from scheduling.services.house_air import HouseAir, air_inside
from scheduling.services.source_histories import source_histories
from scheduling.services.timeline import TICKS_PER_HOUR, Timeline

HISTORIES = 200
SEED = 1
"""Always the same draw, so that planning again with nothing new gives the same waits."""


@dataclass
class CautiousAir:
    """Makes the air of houses cautious; houses of one source share one draw."""

    timeline: Timeline
    now: datetime
    drawn: dict[int, Air] = field(default_factory=dict)

    def of(self, house: House, source: AirSource, air: HouseAir) -> HouseAir:
        """Return a house's air with the drying and the temperature that hold in 8 of 10 histories.

        Its humidity stays what is expected. Raises TooLittleAirError.
        """
        first = datetime.combine(self.now.astimezone(UTC).date(), time.min, UTC)
        start = (first - self.timeline.origin) // timedelta(hours=1)
        whole_hours = (len(air.temperature_c) // 24 - 1) * 24
        if source.pk not in self.drawn:
            self.drawn[source.pk] = source_histories(
                source,
                self.timeline,
                now=self.now,
                first=first,
                until=whole_hours * TICKS_PER_HOUR,
                count=HISTORIES,
                seed=SEED,
            )
        inside = Ensemble.of(*air_inside(house, source, self.drawn[source.pk]))
        temperature_c = cautious_temperature_c(inside.temperature_c)
        progress = air.progress[start] + cautious_progress(inside.progress)
        end = start + len(temperature_c)
        return replace(
            air,
            temperature_c=np.concatenate((air.temperature_c[:start], temperature_c)),
            humidity=air.humidity[:end],
            progress=np.concatenate((air.progress[:start], progress)),
            known=air.known[:end],
        )
