"""What a house is from which hour on, on days of its own zone."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from finishing.models import House
from finishing.queries.air_sources import CompanyAir
from finishing.rules.house_inputs import State
from scheduling.services.house_states import house_states
from scheduling.services.stored_air import StoredAir
from scheduling.services.timeline import Timeline
from tests.factories import make_company, make_house
from tests.sites import steady_air, utc

pytestmark = pytest.mark.django_db

TIMELINE = Timeline(utc("2026-03-20 00:00"), 20 * 24 * 12)
NOW = utc("2026-03-21 10:00")


def states_of(**fields: Any) -> dict[State, int]:
    """Return by state the first hour in which the house is in it."""
    company = make_company(zone="Europe/Dublin")
    steady_air(company, temperature_c=15.0, humidity=0.5, first=date(2026, 3, 1), days=60)
    house = make_house(company, **fields)
    stored = StoredAir(CompanyAir(company).of(house), TIMELINE, NOW)
    weather = stored.weather()
    assert weather is not None
    state = house_states(house, weather, stored, TIMELINE).state
    values, first = np.unique(state, return_index=True)
    return {State(value): int(hour) for value, hour in zip(values, first, strict=True)}


def hour_of(moment: str) -> int:
    return (utc(moment) - TIMELINE.origin) // timedelta(hours=1)


def test_open_until_it_is_closed_then_heated_from_a_day() -> None:
    """Clocks in Dublin go forward on 29 March 2026: midnight is 23:00 UTC from the next day on."""
    found = states_of(
        is_open=True,
        closed_from=date(2026, 3, 25),
        heating="heated",
        setpoint_c=18.0,
        heated_from=date(2026, 3, 31),
    )
    assert found == {
        State.OPEN: 0,
        State.CLOSED: hour_of("2026-03-25 00:00"),
        State.HEATED: hour_of("2026-03-30 23:00"),
    }


@pytest.mark.parametrize(
    ("fields", "state"),
    [
        ({"is_open": True}, State.OPEN),
        ({"is_open": False}, State.CLOSED),
        ({"is_open": False, "heating": "heated", "setpoint_c": 18.0}, State.HEATED),
        ({"is_open": True, "closed_from": date(2026, 3, 1)}, State.CLOSED),
    ],
)
def test_one_state_all_along(fields: dict[str, Any], state: State) -> None:
    assert states_of(**fields) == {state: 0}


def test_a_house_is_closed_unless_somebody_says_that_it_is_open() -> None:
    assert House().is_open is False


def test_the_first_day_there_is_in_a_zone_east_of_utc_is_long_ago() -> None:
    """Midnight of it is before any date in UTC."""
    found = states_of(is_open=True, closed_from=date.min, zone="Asia/Tokyo")
    assert found == {State.CLOSED: 0}
