"""What a house is in each hour: open, closed, heated, or measured by a device inside it."""

from dataclasses import dataclass
from datetime import date, time
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from finishing.models import House
from finishing.rules.house_inputs import State
from scheduling.services.air_layers import ASSUMED, Layer
from scheduling.services.stored_air import StoredAir, Weather
from scheduling.services.timeline import LAST_DAY, TICKS_PER_HOUR, Timeline, local_instant


@dataclass(frozen=True)
class HouseStates:
    """By hour: the state, and the air that counts where the state is logged."""

    state: NDArray[np.int64]
    logged: Layer

    @property
    def is_logged(self) -> NDArray[np.bool_]:
        return np.equal(self.state, State.LOGGED)


def house_states(
    house: House, weather: Weather, stored: StoredAir, timeline: Timeline
) -> HouseStates:
    """Return the states of a house.

    A house is logged in the hours that its device knows, and where the weather is only assumed,
    when it goes on as it was logged.
    """
    hours = np.arange(len(weather.air.kinds))
    heated_from = _from_day(house, house.heated_from, timeline)
    warm = State.CLOSED if house.held_c is None else State.HEATED
    state = np.where(hours < heated_from, State.CLOSED, warm)
    if house.is_open:
        closed_from = _from_day(house, house.closed_from or date.max, timeline)
        state = np.where(hours < closed_from, State.OPEN, state)
    if weather.inside:
        return HouseStates(np.full(len(hours), State.LOGGED), weather.air)
    logged = stored.logged()
    if logged is None:
        return HouseStates(state, weather.air)
    counts = (logged.kinds != ASSUMED) | (weather.air.kinds == ASSUMED)
    return HouseStates(np.where(counts, State.LOGGED, state), logged)


def _from_day(house: House, day: date | None, timeline: Timeline) -> int:
    """Return the first hour of a local day, 0 for none."""
    if day is None:
        return 0
    tick = timeline.tick_after(local_instant(min(day, LAST_DAY), time.min, ZoneInfo(house.zone)))
    return -(-tick // TICKS_PER_HOUR)
