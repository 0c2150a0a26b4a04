"""What a climate refuses: every fault at once, each with its place."""

from dataclasses import replace

import numpy as np
import pytest

from finishing.rules.climate_faults import ClimateError
from finishing.rules.house_climate import climate_of
from finishing.rules.house_inputs import Coats, Dryers, Houses, Running, Site, State, Weather

HOURS = 24
GOOD = Site(
    Houses([500.0, 600.0]), Weather(np.full(HOURS, 15.0), 0.6), Running(State.HEATED, 0.5, 20.0)
)


def hole(values: float, hour: int) -> np.ndarray:
    series = np.full(HOURS, values)
    series[hour] = np.nan
    return series


def faults_of(site: Site) -> list[str]:
    with pytest.raises(ValueError, match=" ") as raised:
        climate_of(site)
    assert isinstance(raised.value, ClimateError)
    return raised.value.faults


def test_good_inputs_pass() -> None:
    assert climate_of(GOOD).hourly.humidity.shape == (2, HOURS)


@pytest.mark.parametrize(
    ("site", "fault"),
    [
        (
            replace(GOOD, weather=Weather(hole(15.0, 7), 0.6)),
            "outdoor temperature_c, house 0, hour 7: nan is not from -60 to 80 (and 1 more)",
        ),
        (
            replace(GOOD, weather=Weather(np.full(HOURS, 15.0), 60.0)),
            (
                "outdoor humidity, house 0, hour 0: 60 is not from 0 to 1, a fraction: "
                "is it in percent? (and 47 more)"
            ),
        ),
        (
            replace(GOOD, weather=Weather(np.full(HOURS, 15.0), np.full(HOURS + 1, 0.6))),
            "outdoor humidity: shape (25,) does not go into (2, 24)",
        ),
        (replace(GOOD, houses=Houses([500.0, 0.0])), "volume_m3, house 1: 0 is not above 0"),
        (
            replace(GOOD, running=Running(4, setpoint_c=20.0)),
            "state, house 0, hour 0: 4 is not a whole number from 0 to under 4 (and 47 more)",
        ),
        (
            replace(GOOD, running=Running(State.HEATED)),
            "setpoint_c, house 0, hour 0: nan is not from -60 to 80 (and 47 more)",
        ),
        (
            replace(GOOD, running=Running(State.LOGGED, logged_c=20.0, logged_humidity=55.0)),
            (
                "logged_humidity, house 0, hour 0: 55 is not from 0 to 1, a fraction: "
                "is it in percent? (and 47 more)"
            ),
        ),
        (
            replace(GOOD, coats=Coats([0, 2], [0, 0], [0, 0], [1.0, 1.0], [1.0, 1.0])),
            "coat house, coat 1: 2 is not a whole number from 0 to under 2",
        ),
        (
            replace(GOOD, coats=Coats([0], [0], [2.5], [1.0], [1.0])),
            "coat hour, coat 0: 2.5 is not a whole number from 0 to under 24",
        ),
        (
            replace(GOOD, coats=Coats([0], [0], [0], [-1.0], [1.0])),
            "coat water_kg, coat 0: -1 is not from 0 to 1e+09",
        ),
        (
            replace(GOOD, coats=Coats([0], [0], [0], [1.0], [0.0])),
            "coat amount, coat 0: 0 is not above 0",
        ),
        (
            replace(GOOD, coats=Coats([0, 1], [0, 0], [0, 0], [1.0, 1.0, 1.0], [1.0, 1.0])),
            "coat water_kg: shape (3,) does not go into (2,)",
        ),
        (
            replace(GOOD, dryers=Dryers(1, 40.0, hold_humidity=[0.5, 50.0])),
            "hold_humidity, house 1: 50 is not from 0 to 1, a fraction: is it in percent?",
        ),
        (
            replace(GOOD, dryers=Dryers(1, 40.0, tank_l=10.0, emptied=hole(0.0, 5))),
            "emptied, house 0, hour 5: nan is not from 0 to 1 (and 1 more)",
        ),
        (
            replace(GOOD, dryers=Dryers(1, 40.0, rated_c=[26.7, 0.0], rated_humidity=0.2)),
            "removal at rated_c and rated_humidity, house 0: 0 is not above 0 (and 1 more)",
        ),
    ],
)
def test_each_fault_is_named_with_its_place(site: Site, fault: str) -> None:
    assert faults_of(site) == [fault]


def test_all_faults_at_once() -> None:
    site = Site(
        Houses([500.0, np.nan], flame_share=2.0),
        Weather(hole(15.0, 3), 87.0),
        Running(State.HEATED, -1.0, setpoint_c=20.0),
        Coats([5], [0], [99], [1.0], [1.0]),
        Dryers(-1, 40.0, tank_l=np.nan),
    )
    named = [fault.partition(",")[0] for fault in faults_of(site)]
    assert named == [
        "volume_m3",
        "flame_share",
        "outdoor temperature_c",
        "outdoor humidity",
        "air_changes_per_h",
        "dryer count",
        "tank_l",
        "coat house",
        "coat hour",
    ]


@pytest.mark.parametrize("rated_c", [np.inf, 1e300])
def test_a_rating_without_bounds_is_named_without_a_warning(rated_c: float) -> None:
    faults = faults_of(replace(GOOD, dryers=Dryers(1, 40.0, rated_c=rated_c)))
    assert faults[0].startswith("rated_c, house 0: ")


def test_what_a_state_does_not_read_may_be_missing() -> None:
    running = Running(State.CLOSED, setpoint_c=np.nan, logged_c=np.nan, logged_humidity=np.nan)
    climate_of(replace(GOOD, running=running))


def test_walls_may_have_any_number() -> None:
    few = Coats([0, 0, 1], [0, 1, 0], 0, [9.0, 8.0, 7.0], [1.0, 0.5, 1.0])
    many = replace(few, wall=[7, 10**8, 10**6])
    one, other = (climate_of(replace(GOOD, coats=coats)).dry_hours for coats in (few, many))
    assert one.tolist() == other.tolist()
