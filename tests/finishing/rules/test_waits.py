"""Waits as curves: read as the solver reads them and checked against the drying itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.drying import dry_at, drying_hours, progress
from finishing.rules.units import FloatArray
from finishing.rules.waits import Curve, air_ready_curve, governing, next_day_curve
from scheduling.solver.problem import ReadyCurve, curve_faults

TICKS_PER_HOUR = 12
ROUNDING_TICKS = 1e-6

hourly_air = st.lists(
    st.tuples(st.floats(5.0, 38.0), st.floats(0.1, 1.0)), min_size=30, max_size=150
)


def drying(air: list[tuple[float, float]]) -> FloatArray:
    celsius, humidity = (np.array(column) for column in zip(*air, strict=True))
    return progress(celsius, humidity)


def answers(curve: Curve, horizon_ticks: int) -> list[int]:
    ready = ReadyCurve(*curve)
    return [ready.ready(end) for end in range(horizon_ticks + 1)]


@given(hourly_air, st.floats(0.05, 1.5), st.integers(1, 30))
def test_never_before_dry_never_falling_and_late_by_its_hour_at_most(
    air: list[tuple[float, float]], amount: float, spare_ticks: int
) -> None:
    done = drying(air)
    horizon_ticks = len(air) * TICKS_PER_HOUR - spare_ticks
    curve = air_ready_curve(done, amount, horizon_ticks=horizon_ticks)
    assert curve_faults(ReadyCurve(*curve)) == []
    ready = np.array(answers(curve, horizon_ticks))
    ends = np.arange(horizon_ticks + 1)
    dry_ticks = dry_at(done, ends / TICKS_PER_HOUR, amount) * TICKS_PER_HOUR
    known = np.isfinite(dry_ticks)
    assert np.all(np.diff(ready) >= 0)
    assert np.all(ready[known] >= dry_ticks[known] - ROUNDING_TICKS)
    hours = np.maximum(-(-ends // TICKS_PER_HOUR), 1)
    hour_ends = np.minimum(hours * TICKS_PER_HOUR, horizon_ticks)
    latest = np.ceil(dry_ticks[hour_ends]) + TICKS_PER_HOUR
    assert np.all(ready[np.isfinite(latest)] <= latest[np.isfinite(latest)])
    assert np.all(ready[~known] > len(air) * TICKS_PER_HOUR)


@given(st.floats(8.0, 38.0), st.floats(0.1, 0.95), st.floats(0.1, 2.0))
def test_exact_in_steady_air_and_then_one_step(
    celsius: float, humidity: float, amount: float
) -> None:
    hours = 1500
    done = progress(np.full(hours, celsius), np.full(hours, humidity))
    curve = air_ready_curve(done, amount, horizon_ticks=240)
    wait_ticks = amount * float(drying_hours(celsius, humidity)) * TICKS_PER_HOUR
    assert len(curve.ends) == 1
    assert curve.lags[0] == np.ceil(wait_ticks - ROUNDING_TICKS)
    assert curve.floors == (0,)


def test_waits_grow_into_a_humid_spell() -> None:
    # 20 C; 50 % humidity for two days, then 85 % for four, then 50 % again.
    humidity = np.concatenate((np.full(48, 0.50), np.full(96, 0.85), np.full(96, 0.50)))
    done = progress(np.full(240, 20.0), humidity)
    ready = ReadyCurve(*air_ready_curve(done, 1.0, horizon_ticks=200 * TICKS_PER_HOUR))
    dry_wait, humid_wait = (float(drying_hours(20.0, rh)) for rh in (0.50, 0.85))
    waits = [(ready.ready(h * TICKS_PER_HOUR) / TICKS_PER_HOUR - h) for h in (0, 60, 180)]
    assert waits == pytest.approx([dry_wait, humid_wait, dry_wait], abs=1.0)


def test_other_tick_lengths() -> None:
    done = progress(np.full(200, 20.0), np.full(200, 0.5))
    curve = air_ready_curve(done, 1.0, ticks_per_hour=4, horizon_ticks=100)
    assert curve.lags == (int(np.ceil(4 * drying_hours(20.0, 0.5))),)


class TestNextDay:
    def test_ready_at_the_first_day_start_after_the_end(self) -> None:
        # Local midnights of a zone whose clocks go back on the second day (25 hours).
        midnights = (0, 288, 288 + 300, 288 + 300 + 288)
        ready = ReadyCurve(*next_day_curve(midnights))
        assert [ready.ready(end) for end in (0, 1, 287, 288, 289, 587, 589)] == [
            0,
            288,
            288,
            288,
            588,
            588,
            876,
        ]
        assert curve_faults(ready) == []

    @pytest.mark.parametrize("days", [(), (5, 5), (288, 0)])
    def test_days_must_rise(self, days: tuple[int, ...]) -> None:
        with pytest.raises(ValueError, match="rising"):
            next_day_curve(days)


def test_what_governs_a_wait() -> None:
    assert governing(288, 289) == "air"
    assert governing(288, 288) == "rule"
    assert governing(288, 100) == "rule"
