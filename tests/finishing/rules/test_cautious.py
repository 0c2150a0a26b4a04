"""Waits in cautious air, against the histories it was made from. Air: New York, 2013 (CC0)."""

from datetime import date

import numpy as np
import pytest

from finishing.rules.cautious import cautious_progress, cautious_temperature_c
from finishing.rules.climate import Air, indoor_air
from finishing.rules.drying import dry_at
from finishing.rules.ensemble import Ensemble
from finishing.rules.histories import draw_histories, forecast_skill
from tests.held_back import station_year

DAYS = 24


def ensemble(first: int, setpoint_c: float | None) -> Ensemble:
    record, known = station_year("JFK")
    ahead = Air(*(year[first : first + DAYS].ravel() for year in known))
    drawn = draw_histories(
        record,
        ahead,
        first_day=date.fromordinal(date(2013, 1, 1).toordinal() + first),
        skill=forecast_skill(np.arange(DAYS * 24.0), np.zeros(DAYS * 24)),
        histories=200,
        seed=first,
    )
    return Ensemble.of(*indoor_air(*drawn, setpoint_c=setpoint_c))


def share_that_holds(air: Ensemble, amount: float) -> float:
    """Return in how many histories coats that end over two weeks are dry when cautious air says."""
    cautious = cautious_progress(air.progress)
    ends = np.arange(6.0, 14 * 24, 11)
    holds = [
        np.mean(air.dry_at(np.full(200, end), amount) <= float(dry_at(cautious, end, amount)))
        for end in ends
    ]
    return float(np.mean(holds))


@pytest.mark.parametrize("setpoint_c", [None, 15.0, 20.0])
@pytest.mark.parametrize("first", [60, 130, 220, 290])
def test_waits_of_coats_hold_in_seven_to_nine_of_ten(first: int, setpoint_c: float | None) -> None:
    air = ensemble(first, setpoint_c)
    found = [share_that_holds(air, amount) for amount in (0.44, 0.78, 1.0, 1.67)]
    assert 0.70 <= np.mean(found) <= 0.90, found
    assert min(found) > 0.62
    assert max(found) < 0.98


def test_air_that_is_the_same_in_all_histories_stays_as_it_is() -> None:
    steady = Ensemble.of(np.full((5, 100), 18.0), np.tile(np.linspace(0.4, 0.8, 100), (5, 1)))
    np.testing.assert_allclose(cautious_progress(steady.progress), steady.progress[0])


def test_where_nothing_dries_in_any_history_nothing_dries() -> None:
    saturated = Ensemble.of(np.full((5, 200), 18.0), np.full((5, 200), 0.5), drying_share=0.0)
    np.testing.assert_array_equal(cautious_progress(saturated.progress), np.zeros(201))


def test_eight_of_ten_histories_are_as_warm_or_warmer() -> None:
    temperature_c = np.random.default_rng(1).normal(10, 3, (500, 40))
    cautious = cautious_temperature_c(temperature_c)
    np.testing.assert_allclose(np.mean(temperature_c >= cautious, axis=0), 0.8, atol=0.01)


def test_air_in_which_nothing_dries_is_no_fault() -> None:
    still = np.zeros((5, 100))
    assert np.array_equal(cautious_progress(still), np.zeros(100))
