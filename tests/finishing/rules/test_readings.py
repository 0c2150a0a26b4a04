"""Readings against the model: worked by hand, and what holds for any of them."""

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.climate import Air, vapour_kpa
from finishing.rules.climate_faults import ClimateError
from finishing.rules.readings import FADES_OVER_HOURS, Reading, corrected_air

HOURS = 120


def steady(temperature_c: float = 20.0, humidity: float = 0.5) -> Air:
    return Air(np.full(HOURS, temperature_c), np.full(HOURS, humidity))


def days() -> Air:
    """Return a house that is 8 K warmer by day than by night, with the same vapour in it."""
    temperature_c = 16.0 + 4.0 * np.sin(np.arange(HOURS) * np.pi / 12.0)
    psychrolib.SetUnitSystem(psychrolib.SI)
    humidity = [1000.0 / psychrolib.GetSatVapPres(celsius) for celsius in temperature_c]
    return Air(temperature_c, np.array(humidity))


class TestByHand:
    def test_half_of_the_offset_is_left_after_a_day(self) -> None:
        air = corrected_air(steady(), [Reading(10.0, 24.0, 0.5)])
        assert air.temperature_c[[9, 10, 22, 34, 58]] == pytest.approx([20, 24, 23, 22, 20])

    def test_an_offset_of_vapour_is_the_same_by_day_and_by_night(self) -> None:
        # 1.0 kPa in the model and 1.2 kPa measured: 0.2 kPa too few, of which half is left 24 h on
        # and a quarter 36 h on, at another temperature (saturation by psychrolib).
        model = days()
        read_humidity = 1200.0 / psychrolib.GetSatVapPres(model.temperature_c[6])
        air = corrected_air(model, [Reading(6.0, model.temperature_c[6], read_humidity)])
        for hour, kpa in ((5, 1.0), (6, 1.2), (18, 1.15), (30, 1.1), (42, 1.05), (54, 1.0)):
            expected = 1000.0 * kpa / psychrolib.GetSatVapPres(model.temperature_c[hour])
            assert air.humidity[hour] == pytest.approx(expected, rel=1e-4), hour

    def test_a_reading_of_warmth_alone_brings_no_water(self) -> None:
        model = steady(20.0, 0.6)
        kpa = vapour_kpa(20.0, 0.6)
        warmer = float(kpa / vapour_kpa(25.0, 1.0))
        air = corrected_air(model, [Reading(0.0, 25.0, warmer)])
        assert vapour_kpa(*air) == pytest.approx(np.full(HOURS, float(kpa)))

    def test_a_reading_within_an_hour_counts_for_that_hour(self) -> None:
        air = corrected_air(steady(), [Reading(10.5, 24.0, 0.5)])
        expected = [20.0, 24.0, 20.0 + 4.0 * (1.0 - 0.5 / 48.0)]
        assert air.temperature_c[9:12] == pytest.approx(expected)

    def test_a_later_reading_replaces_an_earlier_one(self) -> None:
        # The first alone would leave 4 K x 3/4 at hour 22; the second says that the model is right.
        first, second = Reading(10.0, 24.0, 0.5), Reading(22.0, 20.0, 0.5)
        air = corrected_air(steady(), [second, first])
        assert air.temperature_c[[21, 22, 23]] == pytest.approx([24.0 - 4.0 * 11 / 48, 20.0, 20.0])

    def test_of_one_moment_the_last_given_counts(self) -> None:
        air = corrected_air(steady(), [Reading(5.0, 30.0, 0.5), Reading(5.0, 18.0, 0.5)])
        assert air.temperature_c[5] == 18.0


READINGS = st.lists(
    st.builds(
        Reading,
        st.floats(0.0, HOURS, exclude_max=True),
        st.floats(-20.0, 45.0),
        st.floats(0.0, 1.0),
    ),
    max_size=6,
)


class TestAnyReadings:
    @given(READINGS)
    def test_humidity_stays_a_fraction(self, readings: list[Reading]) -> None:
        air = corrected_air(days(), readings)
        assert np.all((air.humidity >= 0.0) & (air.humidity <= 1.0))
        assert np.all(np.isfinite(air.temperature_c))

    @given(READINGS)
    def test_before_the_first_and_two_days_after_the_last_nothing_changes(
        self, readings: list[Reading]
    ) -> None:
        model = days()
        air = corrected_air(model, readings)
        taken = [reading.hour for reading in readings]
        hours = np.arange(HOURS)
        before = hours < int(min(taken, default=HOURS))
        after = hours >= max(taken, default=0) + FADES_OVER_HOURS
        for was, now in zip(model, air, strict=True):
            assert np.array_equal(was[before | after], now[before | after])

    @given(READINGS.filter(bool))
    def test_the_hour_of_the_latest_reading_is_as_read(self, readings: list[Reading]) -> None:
        air = corrected_air(days(), readings)
        latest = max(enumerate(readings), key=lambda pair: (pair[1].hour, pair[0]))[1]
        at = int(latest.hour)
        assert air.temperature_c[at] == pytest.approx(latest.temperature_c)
        assert air.humidity[at] == pytest.approx(latest.humidity)

    @given(READINGS)
    def test_readings_that_agree_change_nothing(self, readings: list[Reading]) -> None:
        model = days()
        agreeing = [
            Reading(r.hour, model.temperature_c[int(r.hour)], model.humidity[int(r.hour)])
            for r in readings
        ]
        air = corrected_air(model, agreeing)
        assert air.temperature_c == pytest.approx(model.temperature_c)
        assert air.humidity == pytest.approx(model.humidity)

    @given(READINGS)
    def test_no_hour_is_moved_past_what_was_read(self, readings: list[Reading]) -> None:
        model = days()
        air = corrected_air(model, readings)
        most = max(
            (abs(r.temperature_c - model.temperature_c[int(r.hour)]) for r in readings), default=0
        )
        assert np.abs(air.temperature_c - model.temperature_c).max() <= most + 1e-9


class TestFaults:
    def test_every_fault_is_named_at_once(self) -> None:
        readings = [Reading(3.0, 20.0, 55.0), Reading(200.0, 20.0, 0.5)]
        with pytest.raises(ClimateError) as error:
            corrected_air(steady(), readings)
        assert len(error.value.faults) == 2
        assert "humidity read, reading, by time, 0: 55" in str(error.value)
        assert "in percent?" in str(error.value)
        assert "hour of a reading, reading, by time, 1: 200" in str(error.value)

    def test_a_reading_that_is_no_number(self) -> None:
        with pytest.raises(ClimateError, match="temperature_c read"):
            corrected_air(steady(), [Reading(3.0, float("nan"), 0.5)])

    def test_a_model_of_uneven_series(self) -> None:
        with pytest.raises(ClimateError, match="one length"):
            corrected_air(Air(np.zeros(3), np.zeros(2)), [])

    def test_a_model_with_a_gap(self) -> None:
        model = steady()
        model.temperature_c[7] = np.nan
        with pytest.raises(ClimateError, match="model temperature_c, hour 7"):
            corrected_air(model, [])
