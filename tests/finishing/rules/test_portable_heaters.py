"""Portable heaters in closed houses: up to their thermostat, with what they have, while there."""

from dataclasses import replace

import numpy as np
import pytest

from finishing.rules.climate_faults import ClimateError
from finishing.rules.house_climate import climate_of
from finishing.rules.house_inputs import Heaters, Houses, Running, Site, State, Weather

HOURS = 300
OUTDOOR_C = 2.0
LOSS_W_PER_K = 500.0 * (0.5 + 0.5 * 0.3353)
"""Of 500 m3 with half an air change an hour, of air at 0.3353 Wh/(m3 K)."""


def house(heaters: Heaters, *, state: State = State.CLOSED, **fields: float) -> Site:
    own = {"heat_kw": 0.0, "setpoint_c": 20.0, **fields}
    return Site(
        Houses(500.0, heat_kw=own["heat_kw"]),
        Weather(np.full(HOURS, OUTDOOR_C), 0.8),
        Running(state, 0.5, setpoint_c=own["setpoint_c"]),
        heaters=heaters,
        start_c=OUTDOOR_C,
    )


def last_c(site: Site) -> float:
    return float(climate_of(site).hourly.temperature_c[0, -1])


def test_one_too_small_warms_an_unheated_house_by_its_heat_over_the_losses() -> None:
    warmer = 3000.0 / LOSS_W_PER_K
    assert last_c(house(Heaters(3.0, 20.0))) == pytest.approx(OUTDOOR_C + warmer, abs=0.05)


def test_one_that_is_big_enough_holds_its_thermostat_and_gives_no_more_than_the_losses() -> None:
    hourly = climate_of(house(Heaters(30.0, 15.0))).hourly
    assert hourly.temperature_c[0].max() == pytest.approx(15.0)
    assert hourly.heat_kwh[0, -1] == pytest.approx(LOSS_W_PER_K * 13.0 / 1000, rel=1e-3)


def test_it_warms_only_while_it_stands() -> None:
    """Afterwards the warmth leaves with the time constant: 1 - 1/e of it in 18.0 hours."""
    hours = np.arange(HOURS)
    stands = (hours >= 50) & (hours < 150)
    temperature_c = climate_of(house(Heaters(np.where(stands, 30.0, 0.0), 20.0))).hourly[0][0]
    assert temperature_c[:50] == pytest.approx(np.full(50, OUTDOOR_C))
    assert temperature_c[149] == pytest.approx(20.0)
    assert temperature_c[167] - OUTDOOR_C == pytest.approx(18.0 * np.exp(-1.0), rel=0.01)


@pytest.mark.parametrize("state", [State.OPEN, State.LOGGED])
def test_no_effect_where_the_air_is_what_it_is(state: State) -> None:
    site = house(Heaters(30.0, 20.0, 1.0), state=state)
    logged = replace(site.running, logged_c=7.0, logged_humidity=0.6)
    with_it, without = (
        climate_of(replace(site, running=logged, heaters=heaters))
        for heaters in (site.heaters, Heaters())
    )
    assert np.array_equal(with_it.hourly.temperature_c, without.hourly.temperature_c)
    assert not with_it.hourly.heat_kwh.any()
    assert not with_it.balance.flame_kg.any()


@pytest.mark.parametrize("seed", range(12))
def test_beside_the_houses_own_as_two_thermostats_that_switch_on_and_off(seed: int) -> None:
    lot = np.random.default_rng(seed)
    own_kw, brought_kw = lot.choice([0.0, 2.0, 5.0, 20.0], 2)
    setpoint_c, hold_c = lot.choice([10.0, 15.0, 20.0, 25.0], 2)
    site = house(
        Heaters(brought_kw, hold_c), state=State.HEATED, heat_kw=own_kw, setpoint_c=setpoint_c
    )
    site = replace(site, start_c=np.nan)
    temperature_c, mean_c = setpoint_c, 0.0
    steps_an_hour = 400
    for step in range(HOURS * steps_an_hour):
        heat_w = 1000 * (own_kw * (temperature_c < setpoint_c))
        heat_w += 1000 * (brought_kw * (temperature_c < hold_c))
        lost_w = LOSS_W_PER_K * (temperature_c - OUTDOOR_C)
        temperature_c += (heat_w - lost_w) / (12.0 * 500.0) / steps_an_hour
        mean_c += temperature_c / steps_an_hour * (step >= (HOURS - 1) * steps_an_hour)
    assert last_c(site) == pytest.approx(mean_c, abs=0.1)


def test_a_flame_leaves_its_water_and_the_houses_own_heat_none() -> None:
    """0.127 kg a kWh, by stoichiometry of propane; the own 2 kW are always on at 20 C."""
    site = house(Heaters(4.0, 20.0, 1.0), state=State.HEATED, heat_kw=2.0, setpoint_c=20.0)
    climate = climate_of(site)
    from_flames_kwh = climate.hourly.heat_kwh[0].sum() - 2.0 * HOURS
    assert climate.balance.flame_kg[0] == pytest.approx(0.127 * from_flames_kwh, rel=1e-6)
    electric = climate_of(replace(site, heaters=Heaters(4.0, 20.0)))
    assert electric.balance.flame_kg[0] == 0.0
    assert np.all(electric.hourly.temperature_c == climate.hourly.temperature_c)


def test_faults_name_the_house_and_the_hour() -> None:
    hold_c = np.full(HOURS, 20.0)
    hold_c[3] = np.nan
    with pytest.raises(ClimateError) as caught:
        climate_of(house(Heaters(-1.0, 20.0, 1.5)))
    assert [fault.partition(":")[0] for fault in caught.value.faults] == [
        "heater heat_kw, house 0, hour 0",
        "heater flame_share, house 0, hour 0",
    ]
    with pytest.raises(ClimateError, match="heater hold_c, house 0, hour 3: nan is not from -60"):
        climate_of(house(Heaters(3.0, hold_c)))
    climate_of(house(Heaters(0.0, hold_c)))
