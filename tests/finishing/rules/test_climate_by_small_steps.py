"""The climate of a house against the same physics in explicit steps of half a minute.

Written apart from the code it checks: vapour, film, tanks and walls are moved one after another.
Saturation and the dryer's curve come from the rules and are checked elsewhere.
"""

import numpy as np
import pytest

from finishing.rules.dryers import removal_kg_per_h
from finishing.rules.drying import saturation_kpa
from finishing.rules.house_climate import Climate, climate_of
from finishing.rules.house_inputs import Coats, Dryers, Houses, Running, Site, State, Weather

HOURS = 60
STEPS = 120
HOLD = 0.5


def any_house(seed: int) -> Site:
    """Return a house in some weather, with coats over coats, dryers, tanks, flames."""
    lot = np.random.default_rng(seed)
    hours = np.arange(HOURS)
    wave = np.cos(2 * np.pi * hours / 24)
    number = int(lot.integers(2, 8))
    return Site(
        Houses(lot.uniform(200.0, 800.0, 1), heat_kw=lot.choice([3.0, 30.0]), flame_share=1.0),
        Weather([lot.uniform(-5.0, 25.0) + 6.0 * wave], [0.7 + 0.2 * wave]),
        Running(
            np.where(hours < 8, State.OPEN, lot.integers(State.CLOSED, State.LOGGED)),
            lot.choice([0.0, 0.2, 0.5, 2.0]),
            setpoint_c=20.0,
        ),
        Coats(
            np.zeros(number),
            lot.integers(0, 2, number),
            lot.permutation(40)[:number],
            lot.uniform(1.0, 15.0, number),
            lot.choice([0.4, 0.8, 1.0], number),
        ),
        Dryers(
            int(lot.integers(0, 3)), 40.0, tank_l=lot.choice([8.0, np.inf]), emptied=hours % 24 == 7
        ),
    )


class SmallSteps:
    """One house; its warmth is taken from the climate to check."""

    def __init__(self, site: Site, climate: Climate) -> None:
        self.site, self.climate = site, climate
        self.dry_air_kg = 1.2 * float(np.asarray(site.houses.volume_m3)[0])
        self.vapour_kg = self.film_kg = self.tank_kg = self.removed_kg = 0.0
        self.walls = {0: [0.0, 0.0], 1: [0.0, 0.0]}
        self.progress = 0.0

    def hour(self, hour: int) -> None:
        coats, dryers = self.site.coats, self.site.dryers
        fields = (coats.wall, coats.hour, coats.water_kg, coats.amount)
        for wall, start, kg, amount in np.stack([np.asarray(field) for field in fields]).T:
            if start == hour:
                of_wall = self.walls[int(wall)]
                of_wall[:] = [of_wall[0] + float(amount), of_wall[1] + float(kg)]
        self.tank_kg = 0.0 if np.asarray(dryers.emptied)[hour] else self.tank_kg
        celsius = float(self.climate.hourly.temperature_c[0, hour])
        saturation = float(saturation_kpa(celsius))
        outdoor_c = np.asarray(self.site.weather.temperature_c)[0, hour]
        outdoor_rh = np.asarray(self.site.weather.humidity)[0, hour]
        outdoor = self.ratio(outdoor_rh * float(saturation_kpa(outdoor_c)))
        if np.asarray(self.site.running.state)[hour] == State.OPEN:
            self.dry(saturation**1.04 / 23.0 * (1.0 - outdoor_rh) ** 0.90)
            self.vapour_kg = self.dry_air_kg * outdoor
            return
        for _ in range(STEPS):
            self.step(hour, celsius, saturation, outdoor)

    def step(self, hour: int, celsius: float, saturation: float, outdoor: float) -> None:
        there_kg = self.vapour_kg + self.film_kg
        self.vapour_kg = min(there_kg, self.dry_air_kg * self.ratio(saturation))
        self.film_kg = there_kg - self.vapour_kg
        ratio = self.vapour_kg / self.dry_air_kg
        pressure = 101.325 * ratio / (0.621945 + ratio)
        humidity = 1.0 if self.film_kg > 0.0 else min(pressure / saturation, 1.0)
        off_kg = self.dry(saturation**1.04 / 23.0 * (1.0 - humidity) ** 0.90 / STEPS)
        taken_kg = self.dried_out_kg(celsius, humidity)
        flame_kg = 0.127 * float(self.climate.hourly.heat_kwh[0, hour]) / STEPS
        changed_kg = float(np.asarray(self.site.running.air_changes_per_h)) * self.dry_air_kg
        self.vapour_kg += off_kg - taken_kg + flame_kg + changed_kg / STEPS * (outdoor - ratio)

    def dry(self, drying: float) -> float:
        self.progress += drying
        off_kg = 0.0
        for wall in self.walls.values():
            share = min(drying / wall[0], 1.0) if wall[0] > 0.0 else 0.0
            off_kg += share * wall[1]
            wall[:] = [(1.0 - share) * wall[0], (1.0 - share) * wall[1]]
        return off_kg

    def dried_out_kg(self, celsius: float, humidity: float) -> float:
        dryers = self.site.dryers
        count = float(np.asarray(dryers.count))
        full_kg = count * float(removal_kg_per_h(celsius, humidity, rated_l_per_day=40.0)) / STEPS
        running = min(max((humidity - HOLD) / 0.02 + 1.0, 0.0), 1.0)
        room_kg = count * float(np.asarray(dryers.tank_l)) - self.tank_kg if count else 0.0
        taken_kg = min(full_kg * running, max(room_kg, 0.0))
        self.tank_kg += taken_kg
        self.removed_kg += taken_kg
        return taken_kg

    @staticmethod
    def ratio(pressure_kpa: float) -> float:
        return 0.621945 * pressure_kpa / (101.325 - pressure_kpa)


@pytest.mark.parametrize("seed", range(12))
def test_hourly_steps_come_to_the_same(seed: int) -> None:
    site = any_house(seed)
    climate = climate_of(site)
    small = SmallSteps(site, climate)
    for hour in range(HOURS):
        small.hour(hour)
    assert climate.progress[0, -1] == pytest.approx(small.progress, rel=0.01, abs=0.02)
    assert climate.balance.removed_kg[0] == pytest.approx(small.removed_kg, rel=0.02, abs=0.6)
    left_kg = sum(wall[1] for wall in small.walls.values())
    assert climate.balance.in_coats_kg[0] == pytest.approx(left_kg, rel=0.02, abs=0.1)
    assert climate.balance.condensed_kg[0] == pytest.approx(small.film_kg, abs=0.1)
