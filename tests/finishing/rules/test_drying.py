"""Drying: against the handbook's table, psychrolib and CoolProp."""

from itertools import pairwise

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAProps_Aux
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.drying import (
    STAGE_THICKNESS_MM,
    dry_at,
    drying_hours,
    progress,
    saturation_kpa,
    thickness_amount,
)
from finishing.rules.units import celsius_from_fahrenheit
from finishing.rules.vocabulary import COATS

DAY = 24.0

# "Drying time, joint compound under tape", Gypsum Construction Handbook, finishing chapter.
# Cells from memory. Hours by relative humidity (%) and temperature (F).
TABLE_F = (32, 40, 50, 60, 70, 80, 100)
TABLE_HOURS = {
    95: (25 * DAY, 18 * DAY, 12 * DAY, 8 * DAY, 6 * DAY, 4 * DAY, 2 * DAY),
    90: (13 * DAY, 9 * DAY, 6 * DAY, 4.5 * DAY, 3 * DAY, 49, 26),
    85: (10 * DAY, 6 * DAY, 4 * DAY, 3 * DAY, 2 * DAY, 34, 18),
    80: (7 * DAY, 4.5 * DAY, 3.25 * DAY, 2.25 * DAY, 38, 27, 14),
    70: (4.5 * DAY, 3.5 * DAY, 2.25 * DAY, 38, 26, 19, 10),
    60: (3.5 * DAY, 2.5 * DAY, 42, 29, 20, 14, 8),
    50: (3 * DAY, 2 * DAY, 36, 24, 17, 12, 6),
    40: (2.5 * DAY, 44, 29, 20, 14, 10, 5),
    30: (2.25 * DAY, 38, 26, 18, 12, 9, 4.5),
    20: (2 * DAY, 34, 23, 16, 11, 8, 4),
}
CELLS = [
    (fahrenheit, percent, hours)
    for percent, row in TABLE_HOURS.items()
    for fahrenheit, hours in zip(TABLE_F, row, strict=True)
]


def _error(fahrenheit: int, percent: int, hours: float) -> float:
    celsius = celsius_from_fahrenheit(float(fahrenheit))
    return abs(float(drying_hours(celsius, percent / 100)) / hours - 1)


class TestHandbookTable:
    @pytest.mark.parametrize(("fahrenheit", "percent", "hours"), CELLS)
    def test_every_cell_within_15_percent(
        self, fahrenheit: int, percent: int, hours: float
    ) -> None:
        assert _error(fahrenheit, percent, hours) < 0.15

    def test_4_percent_on_average(self) -> None:
        assert np.mean([_error(*cell) for cell in CELLS]) < 0.04

    def test_core_within_10_percent_and_3_on_average(self) -> None:
        core = [_error(*cell) for cell in CELLS if cell[1] <= 90 and 50 <= cell[0] <= 80]
        assert len(core) == 36
        assert max(core) < 0.10
        assert np.mean(core) < 0.03


class TestLaw:
    @given(st.floats(-5.0, 40.0), st.floats(0.0, 0.97), st.floats(0.5, 20.0))
    def test_longer_when_colder(self, celsius: float, humidity: float, step_k: float) -> None:
        assert drying_hours(celsius, humidity) > drying_hours(celsius + step_k, humidity)

    @given(st.floats(-5.0, 40.0), st.floats(0.0, 0.96), st.floats(0.005, 0.5))
    def test_longer_when_more_humid(self, celsius: float, humidity: float, more: float) -> None:
        damper = min(humidity + more, 0.98)
        assert drying_hours(celsius, damper) > drying_hours(celsius, humidity)

    @given(st.floats(0.0, 27.4), st.floats(0.0, 1.0))
    def test_doubles_per_10_6_k(self, celsius: float, humidity: float) -> None:
        # Computed from the table's columns, 0-38 C: 1.86 to 2.15.
        times = drying_hours(celsius, humidity) / drying_hours(celsius + 10.6, humidity)
        assert 1.86 <= round(float(times), 2) <= 2.15

    @given(st.floats(0.98, 1.0))
    def test_air_damper_than_98_percent_dries_as_at_98(self, humidity: float) -> None:
        assert drying_hours(16.0, humidity) == drying_hours(16.0, 0.98)

    @pytest.mark.parametrize("humidity", [-0.01, 1.01, 55.0, float("nan")])
    def test_humidity_must_be_a_fraction(self, humidity: float) -> None:
        with pytest.raises(ValueError, match="humidity"):
            drying_hours(20.0, humidity)


class TestSaturation:
    # psychrolib 2.5: ASHRAE Fundamentals 2017, -100 to 200 C. The same equations: tight.
    @pytest.mark.parametrize("celsius", [-99.0, -40.0, -10.0, -0.5, 0.0, 0.5, 20.0, 38.0, 150.0])
    def test_against_psychrolib(self, celsius: float) -> None:
        psychrolib.SetUnitSystem(psychrolib.SI)
        expected_kpa = psychrolib.GetSatVapPres(celsius) / 1000
        assert float(saturation_kpa(celsius)) == pytest.approx(expected_kpa, rel=1e-6)

    # CoolProp: IAPWS-95 over water, from the triple point up. Another formulation.
    @pytest.mark.parametrize("celsius", [0.02, 5.0, 10.0, 20.0, 30.0, 38.0, 60.0, 99.9])
    def test_against_coolprop_over_water(self, celsius: float) -> None:
        expected_kpa = PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water") / 1000
        assert float(saturation_kpa(celsius)) == pytest.approx(expected_kpa, rel=5e-4)

    # CoolProp's humid air: IAPWS sublimation pressure over ice.
    @pytest.mark.parametrize("celsius", [-60.0, -40.0, -20.0, -10.0, -1.0])
    def test_against_coolprop_over_ice(self, celsius: float) -> None:
        pascal, unit = HAProps_Aux("p_ws", celsius + 273.15, 101325.0, 0.0)
        assert unit == "Pa"
        assert float(saturation_kpa(celsius)) == pytest.approx(pascal / 1000, rel=5e-4)

    def test_keeps_the_shape(self) -> None:
        assert saturation_kpa(np.zeros((2, 3))).shape == (2, 3)


class TestThickness:
    def test_the_tables_coat_counts_as_one(self) -> None:
        # The table's basis: a tape coat of 1/16 to 5/64 in wet (from memory).
        assert thickness_amount(1 / 16 * 25.4) < 1.0 < thickness_amount(5 / 64 * 25.4)

    def test_linear_in_thickness(self) -> None:
        assert thickness_amount(3.0) == pytest.approx(2 * thickness_amount(1.5))

    def test_every_coat_has_a_thickness(self) -> None:
        assert set(STAGE_THICKNESS_MM) == COATS


class TestChangingAir:
    def test_steady_air_gives_the_law(self) -> None:
        hours = float(drying_hours(20.0, 0.5))
        done = progress(np.full(100, 20.0), np.full(100, 0.5))
        assert done[0] == 0.0
        assert float(dry_at(done, 3.25, 1.0)) == pytest.approx(3.25 + hours)
        assert float(dry_at(done, 3.25, 0.4)) == pytest.approx(3.25 + 0.4 * hours)

    def test_two_kinds_of_air_worked_by_hand(self) -> None:
        # 10 h at 20 C 50 % dry the share 10 / t1; the rest goes at 10 C 70 %.
        first, then = float(drying_hours(20.0, 0.5)), float(drying_hours(10.0, 0.7))
        celsius = np.concatenate((np.full(10, 20.0), np.full(200, 10.0)))
        humidity = np.concatenate((np.full(10, 0.5), np.full(200, 0.7)))
        expected = 10.0 + (1.0 - 10.0 / first) * then
        assert float(dry_at(progress(celsius, humidity), 0.0, 1.0)) == pytest.approx(expected)

    def test_infinite_where_the_series_is_too_short(self) -> None:
        done = progress(np.full(24, 20.0), np.full(24, 0.5))
        ends = np.array([0.0, 23.9, 24.0, 30.0])
        assert np.isfinite(dry_at(done, ends, 1.0)).tolist() == [True, False, False, False]

    @given(
        st.lists(st.tuples(st.floats(0.0, 38.0), st.floats(0.0, 1.0)), min_size=24, max_size=200),
        st.floats(0.0, 2.0),
    )
    def test_later_coats_dry_later_and_none_before_it_ends(
        self, air: list[tuple[float, float]], amount: float
    ) -> None:
        celsius, humidity = (np.array(column) for column in zip(*air, strict=True))
        done = progress(celsius, humidity)
        ends = np.linspace(0.0, len(air), 97)
        dry = dry_at(done, ends, amount)
        assert np.all(dry >= ends)
        assert all(a <= b for a, b in pairwise(dry))

    def test_bad_series_are_refused(self) -> None:
        with pytest.raises(ValueError, match="same length"):
            progress(np.zeros(3), np.zeros(4))
        with pytest.raises(ValueError, match="temperature"):
            progress(np.array([20.0, np.nan]), np.array([0.5, 0.5]))
        done = progress(np.full(3, 20.0), np.full(3, 0.5))
        with pytest.raises(ValueError, match="negative"):
            dry_at(done, -1.0, 1.0)
        with pytest.raises(ValueError, match="negative"):
            dry_at(done, 0.0, -1.0)
