"""The hour's equation of moisture: its root against plain halving."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.climate import AIR_PRESSURE_KPA, MOLE_RATIO, humidity_ratio
from finishing.rules.dryers import DryerHour, removal_law
from finishing.rules.drying import bone_dry_rate, saturation_kpa
from finishing.rules.room_moisture import MoistureHour, RoomHour, ends_of, settled
from finishing.rules.units import FloatArray
from finishing.rules.wet_walls import WallHour

HOUSES = 50


def any_hour(seed: int) -> MoistureHour:
    """Return houses whose dryers, tanks and drying walls put kinks anywhere."""
    lot = np.random.default_rng(seed)
    celsius = lot.uniform(-20.0, 35.0, HOUSES)
    saturation = saturation_kpa(celsius)
    air_kg = 10.0 ** lot.uniform(1.0, 6.0, HOUSES)
    most_kg = air_kg * humidity_ratio(saturation)
    amount = np.array([0.0, 0.01, 1.0])[lot.integers(0, 3, (3, HOUSES))] * lot.random((3, HOUSES))
    hold_humidity = np.array([0.0, 0.5, 1.0])[lot.integers(0, 3, HOUSES)] * lot.random(HOUSES)
    rating_kg = np.array([0.0, 1.0, 50.0])[lot.integers(0, 3, HOUSES)]
    left_kg = np.array([0.0, 0.5, 1e9])[lot.integers(0, 3, HOUSES)]
    return MoistureHour(
        RoomHour(
            MOLE_RATIO * air_kg,
            AIR_PRESSURE_KPA / saturation,
            most_kg * lot.uniform(0.0, 1.1, HOUSES),
            bone_dry_rate(saturation),
        ),
        WallHour(amount, 10.0 ** lot.uniform(-3.0, 4.0, (3, HOUSES))),
        DryerHour(*removal_law(rating_kg, celsius), hold_humidity, left_kg),
        ends_of(hold_humidity),
    )


def halved(hour: MoistureHour) -> FloatArray:
    low, high = np.zeros(HOUSES), np.ones(HOUSES)
    for _ in range(60):
        middle = (low + high) / 2
        damp = hour.excess_kg(middle) > 0.0
        low, high = np.where(damp, middle, low), np.where(damp, high, middle)
    return np.asarray(np.where(hour.excess_kg(np.zeros(HOUSES)) <= 0.0, 0.0, low))


@given(st.integers(0, 2**32 - 1))
def test_the_root_is_that_of_plain_halving(seed: int) -> None:
    hour = any_hour(seed)
    dryness = settled(hour, skip=np.zeros(HOUSES, dtype=np.bool_))
    assert dryness == pytest.approx(halved(hour), abs=1e-5)  # a thousandth of a percent


def test_where_only_coats_hold_water_the_search_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    hour = any_hour(1)
    walls = WallHour(np.full((1, HOUSES), 0.5), np.geomspace(1e-3, 20.0, HOUSES)[None])
    dry = hour._replace(room=hour.room._replace(supply_kg=np.zeros(HOUSES)), walls=walls)
    looked: list[int] = []
    excess_kg = MoistureHour.excess_kg

    def counted(self: MoistureHour, dryness: FloatArray) -> FloatArray:
        looked.append(dryness.size)
        return excess_kg(self, dryness)

    monkeypatch.setattr(MoistureHour, "excess_kg", counted)
    dryness = settled(dry, skip=np.zeros(HOUSES, dtype=np.bool_))
    assert len(looked) < 200
    assert dryness == pytest.approx(halved(dry), abs=1e-9)


def test_houses_to_skip_are_left_as_their_air_is_alone() -> None:
    hour, skip = any_hour(1), np.arange(HOUSES) % 2 == 0
    whole = settled(hour, skip=np.zeros(HOUSES, dtype=np.bool_))
    some = settled(hour, skip=skip)
    no_walls = WallHour(np.zeros((1, HOUSES)), np.zeros((1, HOUSES)))
    no_dryers = DryerHour(*np.zeros((5, HOUSES)))
    alone = halved(hour._replace(walls=no_walls, dryers=no_dryers))
    assert some[skip] == pytest.approx(alone[skip], abs=1e-9)
    assert np.all(some[~skip] == whole[~skip])
