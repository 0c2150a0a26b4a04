"""The hour's equation of moisture: its root against plain halving."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishing.rules.climate import humidity_ratio
from finishing.rules.dryers import dryer_hour
from finishing.rules.drying import bone_dry_rate, saturation_kpa
from finishing.rules.room_moisture import MoistureHour, RoomHour, Root, settled
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
    return MoistureHour(
        RoomHour(
            air_kg,
            most_kg,
            most_kg * lot.uniform(0.0, 1.1, HOUSES),
            saturation,
            bone_dry_rate(saturation),
        ),
        WallHour(amount, 10.0 ** lot.uniform(-3.0, 4.0, (3, HOUSES))),
        dryer_hour(
            np.array([0.0, 1.0, 50.0])[lot.integers(0, 3, HOUSES)],
            celsius,
            np.array([0.0, 0.5, 1.0])[lot.integers(0, 3, HOUSES)] * lot.random(HOUSES),
            np.array([0.0, 0.5, 1e9])[lot.integers(0, 3, HOUSES)],
        ),
    )


def halved(hour: MoistureHour) -> FloatArray:
    low, high = np.zeros(HOUSES), np.ones(HOUSES)
    for _ in range(60):
        middle = (low + high) / 2
        damp = hour.excess_kg(middle) > 0.0
        low, high = np.where(damp, middle, low), np.where(damp, high, middle)
    return np.asarray(np.where(hour.excess_kg(np.zeros(HOUSES)) <= 0.0, 0.0, low))


@settings(deadline=None)
@given(
    st.integers(0, 2**32 - 1), st.floats(0.0, 1.0), st.sampled_from([-1e-30, -1.0, -1e9, np.nan])
)
def test_the_root_is_that_of_plain_halving(seed: int, start: float, slope: float) -> None:
    hour = any_hour(seed)
    guess = Root(np.full(HOUSES, start), np.full(HOUSES, slope))
    root = settled(hour, guess, skip=np.zeros(HOUSES, dtype=np.bool_))
    assert root.dryness == pytest.approx(halved(hour), abs=1e-8)


def test_where_only_coats_hold_water_the_search_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    hour = any_hour(1)
    walls = WallHour(np.full((1, HOUSES), 0.5), np.geomspace(1e-3, 20.0, HOUSES)[None])
    dry = MoistureHour(hour.room._replace(supply_kg=np.zeros(HOUSES)), walls, hour.dryers)
    looked: list[int] = []
    excess_kg = MoistureHour.excess_kg

    def counted(self: MoistureHour, dryness: FloatArray) -> FloatArray:
        looked.append(dryness.size)
        return excess_kg(self, dryness)

    monkeypatch.setattr(MoistureHour, "excess_kg", counted)
    guess = Root(np.full(HOUSES, 0.5), np.full(HOUSES, -1.0))
    root = settled(dry, guess, skip=np.zeros(HOUSES, dtype=np.bool_))
    assert len(looked) < 200
    assert root.dryness == pytest.approx(halved(dry), abs=1e-9)


def test_houses_to_skip_are_left_at_0() -> None:
    skip = np.arange(HOUSES) % 2 == 0
    guess = Root(np.full(HOUSES, 0.5), np.full(HOUSES, -1.0))
    whole = settled(any_hour(1), guess, skip=np.zeros(HOUSES, dtype=np.bool_))
    some = settled(any_hour(1), guess, skip=skip)
    assert np.all(some.dryness[skip] == 0.0)
    assert some.dryness[~skip] == pytest.approx(whole.dryness[~skip], abs=1e-9)
