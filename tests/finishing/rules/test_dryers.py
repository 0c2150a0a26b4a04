"""Dehumidifiers in other air than they were rated in."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.dryers import (
    HUMIDISTAT_BAND,
    DryerHour,
    kinks,
    relative_removal,
    removal_kg_per_h,
    removal_law,
)

celsius = st.floats(5.0, 35.0)
humidity = st.floats(0.2, 1.0)


def test_at_its_rating_it_takes_out_what_it_is_rated() -> None:
    assert float(
        removal_kg_per_h(26.7, 0.6, rated_l_per_day=24.0, rated_c=26.7, rated_humidity=0.6)
    ) == pytest.approx(1.0)
    assert float(
        removal_kg_per_h(30.0, 0.8, rated_l_per_day=48.0, rated_c=30.0, rated_humidity=0.8)
    ) == pytest.approx(2.0)


def test_the_curve_is_one_at_its_own_rating() -> None:
    # NREL/TP-5500-52791: the curve is relative to 26.7 C (80 F) and 60 %.
    assert float(relative_removal(26.7, 0.6)) == pytest.approx(1.0, abs=0.02)


@given(celsius, humidity, st.floats(0.1, 10.0))
def test_weaker_in_cooler_air(warm_c: float, damp: float, less_k: float) -> None:
    assert relative_removal(warm_c - less_k, damp) <= relative_removal(warm_c, damp)


@given(celsius, humidity, st.floats(0.01, 0.5))
def test_weaker_in_drier_air(warm_c: float, damp: float, less: float) -> None:
    assert relative_removal(warm_c, max(damp - less, 0.0)) <= relative_removal(warm_c, damp)


def test_stops_in_the_cold() -> None:
    assert float(removal_kg_per_h(4.9, 0.9, rated_l_per_day=40.0)) == 0.0


def test_a_rating_in_air_that_gives_no_water_is_refused() -> None:
    with pytest.raises(ValueError, match="rated_c and rated_humidity"):
        removal_kg_per_h(20.0, 0.6, rated_l_per_day=40.0, rated_c=5.0, rated_humidity=0.1)


@given(celsius, humidity)
def test_an_hour_of_dryers_is_the_curve(warm_c: float, damp: float) -> None:
    one = np.array([1.0])
    hour = DryerHour(*removal_law(3.0 * one, warm_c * one), 0.1 * one, 1e9 * one)
    expected = 3.0 * float(relative_removal(warm_c, damp))
    assert hour.removed_kg(damp * one)[0] == pytest.approx(expected, abs=1e-9)


def test_a_full_tank_and_dry_air_stop_it() -> None:
    rated, warm_c = np.full(2, 5.0), np.full(2, 20.0)
    hour = DryerHour(*removal_law(rated, warm_c), np.full(2, 0.5), np.array([0.25, np.inf]))
    assert hour.removed_kg(np.array([0.9, 0.4])).tolist() == [0.25, 0.0]
    assert hour.removed_kg(np.array([0.9, 0.9]))[1] > 0.25


def test_kinks_are_where_it_starts_and_where_it_runs_all_the_time() -> None:
    hold = np.array([0.5, 0.01])
    hour = DryerHour(*removal_law(np.full(2, 5.0), np.full(2, 20.0)), hold, np.full(2, 1e9))
    runs, starts = kinks(hold)
    assert runs.tolist() == [0.5, 0.01]
    assert starts.tolist() == [0.5 - HUMIDISTAT_BAND, 0.0]
    assert hour.removed_kg(starts)[0] == 0.0
    full = 5.0 * float(relative_removal(20.0, 0.5))
    assert hour.removed_kg(runs)[0] == pytest.approx(full)


def test_in_the_deep_cold_it_takes_nothing_out_of_saturated_air() -> None:
    # The curve is below 0 there; a dryer that may run so cold must not put water into the air.
    law = removal_law(np.full(1, 5.0), np.full(1, -20.0))
    assert DryerHour(*law, np.full(1, 0.5), np.full(1, 1e9)).removed_kg(np.ones(1))[0] == 0.0


def test_it_would_start_where_it_takes_water_out() -> None:
    law = removal_law(np.array([5.0, 0.0, 5.0, 5.0]), np.full(4, 20.0))
    hour = DryerHour(*law, np.full(4, 0.5), np.array([1e9, 1e9, 0.0, 1e9]))
    damp = np.array([0.49, 0.49, 0.49, 0.47])
    assert hour.run_at(damp).tolist() == [True, False, False, False]
    assert (hour.removed_kg(damp) > 0.0).tolist() == [True, False, False, False]
