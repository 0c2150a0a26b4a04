"""Histories that follow the members of an ensemble, against closed forms for Gaussian weather."""

from datetime import date
from statistics import NormalDist

import numpy as np
import pytest

from finishing.rules.climate import Air
from finishing.rules.drying import drying_hours
from finishing.rules.ensemble import Ensemble
from finishing.rules.histories import draw_histories, forecast_skill
from finishing.rules.members import MEMBER_MEMORY_HOURS, Members, pull_of
from finishing.rules.units import FloatArray
from tests.finishing.rules.test_histories import gaussian_record

TODAY = date(2026, 3, 2)
HOURS, COVERED = 20 * 24, 7 * 24
SPREAD = 4.0


def members(temperatures_c: FloatArray, *, first: int = 0, covered: int = COVERED) -> Members:
    """Members of steady air, known in so many hours; humidity follows temperature."""
    air = np.full((len(temperatures_c), HOURS), np.nan)
    air[:, first : first + covered] = temperatures_c[:, None]
    return Members(air, 0.5 + air / 200)


def drawn_with(of: Members | None, *, count: int = 500, seed: int = 1, skill: float = -1.0) -> Air:
    ahead = Air(np.full(HOURS, 10.0), np.full(HOURS, 0.55))
    fading = forecast_skill(np.arange(HOURS * 1.0), np.zeros(HOURS))
    return draw_histories(
        gaussian_record(spread=SPREAD),
        ahead,
        first_day=TODAY,
        skill=np.full(HOURS, skill) if skill >= 0 else fading,
        histories=count,
        seed=seed,
        members=of,
    )


def gaussian_members(count: int, mean_c: float = 12.0, spread: float = 3.0) -> FloatArray:
    """Members at the middles of so many slices of equal odds."""
    normal = NormalDist(mean_c, spread)
    return np.array([normal.inv_cdf((number + 0.5) / count) for number in range(count)])


def test_each_history_is_one_member_as_long_as_there_are_any() -> None:
    temperatures_c = gaussian_members(50)
    air = drawn_with(members(temperatures_c))
    own = air.temperature_c[:, 0]
    np.testing.assert_allclose(air.temperature_c[:, :COVERED], np.tile(own, (COVERED, 1)).T)
    np.testing.assert_allclose(
        air.humidity[:, :COVERED], 0.5 + air.temperature_c[:, :COVERED] / 200
    )
    np.testing.assert_allclose(np.sort(own), np.repeat(temperatures_c, 10))


def test_the_time_that_holds_in_8_of_10_is_the_closed_form() -> None:
    """A coat in steady air at T ~ N(m, s) and 50 % dries the sooner the warmer it is: in 8 of 10
    it is dry after the time that it takes at m - 0.8416 s."""
    air = drawn_with(members(gaussian_members(100)), count=500)
    dry = Ensemble.of(air.temperature_c, np.full((500, HOURS), 0.5)).dry_at(np.zeros(500), 1.0)
    z = NormalDist().inv_cdf(0.8)
    assert z == pytest.approx(0.8416, abs=1e-4)
    assert dry.max() < COVERED
    expected = float(drying_hours(12.0 - z * 3.0, 0.5))
    assert np.quantile(dry, 0.8) == pytest.approx(expected, rel=0.01)


def test_after_the_last_hour_the_weather_of_a_member_fades_into_that_of_the_record() -> None:
    """With members and record both N(10, 4), so is every hour after, and its correlation with the
    member's last hour is exp(-lead / memory)."""
    of = members(gaussian_members(100, 10.0, SPREAD))
    temperature_c = drawn_with(of, count=2000, skill=0.0).temperature_c
    last = temperature_c[:, COVERED - 1]
    for lead in (1, 12, 36, 100):
        then = temperature_c[:, COVERED - 1 + lead]
        assert then.mean() == pytest.approx(10.0, abs=0.4)
        assert then.std() == pytest.approx(SPREAD, rel=0.08)
        kept = np.corrcoef(last, then)[0, 1]
        assert kept == pytest.approx(np.exp(-lead / MEMBER_MEMORY_HOURS), abs=0.07)


def test_nothing_jumps_where_the_ensemble_ends() -> None:
    """Members 8 C warmer than what is expected. From one hour to the next the weather of this
    record changes by nothing within a day; at the join by no more than what it forgets."""
    temperature_c = drawn_with(members(np.full(20, 18.0))).temperature_c
    at_join = temperature_c[:, COVERED] - temperature_c[:, COVERED - 1]
    forgotten = np.sqrt(1 - np.exp(-2 / MEMBER_MEMORY_HOURS))
    assert at_join.mean() == pytest.approx(-8.0 / MEMBER_MEMORY_HOURS, abs=0.15)
    assert at_join.std() < forgotten * SPREAD
    days_later = temperature_c[:, COVERED + 5 * 24 :]
    plain = drawn_with(None).temperature_c[:, COVERED + 5 * 24 :]
    assert np.abs(days_later.mean(axis=0) - plain.mean(axis=0)).max() < 0.4
    assert days_later[:, -1].std() == pytest.approx(plain[:, -1].std(), rel=0.02)


def test_before_its_first_hour_an_ensemble_changes_nothing() -> None:
    air = drawn_with(members(np.full(20, 30.0), first=48))
    np.testing.assert_array_equal(air.temperature_c[:, :48], drawn_with(None).temperature_c[:, :48])
    assert set(air.temperature_c[:, 48]) == {30.0}


def test_the_same_seed_takes_the_same_members_and_another_others() -> None:
    of = members(gaussian_members(30))
    one, same, other = (drawn_with(of, seed=seed).temperature_c for seed in (3, 3, 4))
    np.testing.assert_array_equal(one, same)
    assert np.any(one[:, 0] != other[:, 0])
    np.testing.assert_array_equal(np.unique(one[:, 0]), np.unique(other[:, 0]))


def test_shuffled_members_give_the_same_share_of_each_in_other_histories() -> None:
    temperatures_c = gaussian_members(25)
    shuffled = np.random.default_rng(9).permutation(temperatures_c)
    one, other = (
        drawn_with(members(c)).temperature_c[:, :COVERED] for c in (temperatures_c, shuffled)
    )
    assert np.any(one != other)
    np.testing.assert_array_equal(np.sort(one, axis=0), np.sort(other, axis=0))


def test_places_whose_ensembles_have_the_same_members_share_them() -> None:
    one, other = (
        pull_of(members(np.full(31, c)), histories=500, seed=7).member for c in (5.0, 9.0)
    )
    np.testing.assert_array_equal(one, other)
    assert np.bincount(one).min() == 500 // 31
    assert np.bincount(one).max() == 500 // 31 + 1
