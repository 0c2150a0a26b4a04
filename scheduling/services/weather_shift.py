"""Weather that is tried: outdoor air a little warmer or damper through some days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from scheduling.services.air_layers import Layer

DAMPEST = 0.99
"""Mist: no outdoor air is taken to be damper, however much a shift adds."""


@dataclass(frozen=True)
class WeatherShift:
    """What is added to the outdoor air of all houses from a UTC day to another, both included:
    kelvin, and humidity as a fraction. Hours in the past are as they were."""

    first: date
    last: date
    warmer_c: float
    damper: float


def shifted(
    air: Layer, shifts: Sequence[WeatherShift], *, first_hour: datetime, now_hour: int
) -> Layer:
    """Return air with its shifts; ``first_hour`` is that of the layer, in UTC, and ``now_hour``
    the hour of it up to which all is past."""
    if not shifts:
        return air
    temperature_c, humidity = air.temperature_c.copy(), air.humidity.copy()
    days = np.array(
        [(first_hour + timedelta(hours=hour)).date().toordinal() for hour in range(len(air.kinds))]
    )
    for shift in shifts:
        there = (days >= shift.first.toordinal()) & (days <= shift.last.toordinal())
        there[: max(now_hour, 0)] = False
        temperature_c[there] += shift.warmer_c
        humidity[there] += shift.damper
    return air._replace(temperature_c=temperature_c, humidity=np.clip(humidity, 0.0, DAMPEST))
