"""Drawn air, against the closed form for Gaussian weather, and where it may come from."""

from datetime import date, timedelta

import numpy as np
import pytest

from finishing.rules.climate import Air
from finishing.rules.histories import (
    BLOCK_DAYS,
    LEAST_DAYS,
    SEASON_DAYS,
    Record,
    TooLittleRecordError,
    draw_histories,
    forecast_skill,
)
from finishing.rules.units import FloatArray

TODAY = date(2026, 3, 2)
DAYS = 20


def record(temperature_c: FloatArray, *, until: date = TODAY) -> Record:
    """Days before ``until``, all hours of a day alike; humidity follows temperature."""
    hourly = np.repeat(temperature_c[:, None], 24, axis=1)
    return Record(until - timedelta(days=len(hourly)), hourly, 0.5 + hourly / 200)


def gaussian_record(years: int = 6, spread: float = 4.0) -> Record:
    return record(np.random.default_rng(5).normal(10.0, spread, 365 * years))


def steady(temperature_c: float, days: int = DAYS) -> Air:
    return Air(np.full(days * 24, temperature_c), np.full(days * 24, 0.55))


def draw(of: Record, skill: FloatArray, *, ahead: Air | None = None, seed: int = 1) -> Air:
    ahead = ahead or steady(10.0)
    return draw_histories(of, ahead, first_day=TODAY, skill=skill, histories=500, seed=seed)


def flat(skill: float, days: int = DAYS) -> FloatArray:
    return np.full(days * 24, skill)


def test_gaussian_weather_has_the_mean_and_spread_of_the_closed_form() -> None:
    """Given a forecast with correlation r, Gaussian weather N(m, s) has the mean m + r (f - m)
    and the spread s sqrt(1 - r^2)."""
    skill = forecast_skill(np.arange(DAYS * 24.0), np.zeros(DAYS * 24))
    drawn = draw(gaussian_record(), skill, ahead=steady(18.0)).temperature_c
    for hour in (0, 24, 72, 240, 479):
        r = np.exp(-hour / 240)
        spread = 4.0 * np.sqrt(1 - r**2)
        error = 4 * 4.0 / np.sqrt(500)
        assert drawn[:, hour].mean() == pytest.approx(10 + r * 8, abs=0.1 + error)
        assert drawn[:, hour].std() == pytest.approx(spread, abs=0.05 + error / 2)


def test_what_is_known_is_the_same_in_every_history() -> None:
    ahead = Air(np.linspace(5, 15, DAYS * 24), np.linspace(0.3, 0.9, DAYS * 24))
    drawn = draw(gaussian_record(), flat(1.0), ahead=ahead)
    np.testing.assert_allclose(drawn.temperature_c, np.tile(ahead.temperature_c, (500, 1)))
    np.testing.assert_allclose(drawn.humidity, np.tile(ahead.humidity, (500, 1)))


def test_errors_grow_with_lead_time_from_nothing() -> None:
    skill = forecast_skill(np.arange(DAYS * 24.0), np.zeros(DAYS * 24))
    spread = draw(gaussian_record(), skill).temperature_c.std(axis=0)
    by_day = spread.reshape(DAYS, 24).mean(axis=1)
    assert spread[0] == pytest.approx(0, abs=1e-9)
    assert np.all(np.diff(by_day[:6]) > 0)


def test_skill_fades_sooner_over_hours_that_are_only_assumed() -> None:
    one_day = np.array([24.0])
    assert forecast_skill(one_day * 0, one_day) < forecast_skill(one_day, one_day * 0) < 1
    both = forecast_skill(one_day, one_day)
    apart = forecast_skill(one_day * 0, one_day) * forecast_skill(one_day, one_day * 0)
    np.testing.assert_allclose(both, apart)


def test_the_same_seed_draws_the_same_histories() -> None:
    one, same, other = (draw(gaussian_record(), flat(0.5), seed=seed) for seed in (3, 3, 4))
    np.testing.assert_array_equal(one.temperature_c, same.temperature_c)
    np.testing.assert_array_equal(one.humidity, same.humidity)
    assert np.any(one.temperature_c != other.temperature_c)


def test_a_longer_forecast_draws_the_same_histories_for_longer() -> None:
    short, long = (
        draw(gaussian_record(), flat(0.5, days), ahead=steady(10.0, days)).temperature_c
        for days in (11, 33)
    )
    np.testing.assert_array_equal(long[:, : 11 * 24], short)


def test_hours_drawn_keep_their_humidity() -> None:
    drawn = draw(gaussian_record(), flat(0.0))
    # Humidity is 0.5 + temperature / 200 in the record, and so it is in what is drawn from it.
    np.testing.assert_allclose(drawn.humidity, 0.5 + drawn.temperature_c / 200, atol=1e-9)


def test_days_are_drawn_in_rows() -> None:
    """In the record each day is 2 C warmer than the one before, up to 18 and again from 0."""
    drawn = draw(record(np.arange(2000.0) % 10 * 2), flat(0.0)).temperature_c[:, ::24]
    steps = np.diff(drawn, axis=1) - np.diff(drawn.mean(axis=0))
    in_a_row = np.mean((np.abs(steps - 2) < 0.9) | (np.abs(steps + 18) < 0.9))
    # Four of five days are followed by the day that followed them; a tenth of the rest by chance.
    assert in_a_row == pytest.approx(0.8 + 0.02, abs=0.05)


def test_only_whole_days_of_the_season_are_drawn() -> None:
    """Days of other seasons are 50 C too hot or too cold by turns, days with a hole are absurd."""
    ordinals = np.arange(-365 * 3, 0)
    apart = np.abs(ordinals % 365.25 - 0)
    apart = np.minimum(apart, 365.25 - apart)
    other = np.where(ordinals % 2 == 0, 50.0, -50.0)
    of = record(np.where(apart > SEASON_DAYS, other, 0.0))
    of.temperature_c[-20], of.humidity[-20, 7] = 500.0, np.nan
    drawn = draw(of, flat(0.0, 1), ahead=steady(0.0, 1)).temperature_c
    assert np.all(np.abs(drawn) < 2)


def test_a_record_of_a_few_weeks_will_do() -> None:
    days = np.random.default_rng(1).normal(10, 3, 14)
    drawn = draw(record(days), flat(0.0, 70), ahead=steady(10.0, 70)).temperature_c
    # Past 45 days the record has none of the season: its last blocks go on.
    assert np.all(np.isfinite(drawn))
    assert set(np.round(drawn[:, -1], 6)) <= set(np.round(days, 6))


@pytest.mark.parametrize("days", [1, BLOCK_DAYS, LEAST_DAYS - 1])
def test_too_short_a_record_is_refused(days: int) -> None:
    with pytest.raises(TooLittleRecordError) as refused:
        draw(record(np.full(days, 10.0)), flat(0.0))
    assert refused.value.days == days


def test_a_record_of_another_season_is_refused() -> None:
    of = record(np.full(60, 10.0), until=TODAY - timedelta(days=150))
    with pytest.raises(TooLittleRecordError):
        draw(of, flat(0.0))


def test_humidity_stays_between_nothing_and_saturation() -> None:
    of = record(np.random.default_rng(2).normal(60, 60, 365))
    of.humidity[:] = np.clip(of.humidity, 0, 1)
    drawn = draw(of, flat(0.6), ahead=Air(np.full(480, 10.0), np.full(480, 1.0)))
    assert drawn.humidity.min() >= 0
    assert drawn.humidity.max() <= 1
