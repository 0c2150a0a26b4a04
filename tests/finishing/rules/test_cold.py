"""Starts that cold or heat closes, against ASTM C840 section 4 worked hour by hour."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.cold import starts_in_range
from finishing.rules.units import FloatArray

# ASTM C840 section 4 (read): 10 C for 48 hours before and until dry, at most 35 C.
MINIMUM_C, MAXIMUM_C, CONDITIONING_HOURS = 10.0, 35.0, 48.0


def open_hours(temperature_c: FloatArray, dry_hours: FloatArray | float) -> list[bool]:
    over = np.broadcast_to(np.asarray(dry_hours, dtype=np.float64), temperature_c.shape)
    may_start = starts_in_range(
        temperature_c,
        dry_hours_after=over,
        minimum_c=MINIMUM_C,
        maximum_c=MAXIMUM_C,
        conditioning_hours=CONDITIONING_HOURS,
    )
    return [bool(may) for may in may_start]


def test_warm_house_is_open_until_its_air_is_no_longer_known() -> None:
    assert open_hours(np.full(100, 20.0), 24.0) == [True] * 77 + [False] * 23


def test_one_cold_hour_closes_the_day_before_it_and_two_days_after() -> None:
    temperature_c = np.full(200, 15.0)
    temperature_c[100] = 9.9
    closed = [hour for hour, may in enumerate(open_hours(temperature_c, 24.0)[:170]) if not may]
    assert closed == list(range(77, 149))


def test_exactly_ten_degrees_will_do() -> None:
    assert all(open_hours(np.full(60, 10.0), 5.0)[:55])


def test_one_hot_hour_closes_until_it_is_over_and_no_longer() -> None:
    temperature_c = np.full(200, 20.0)
    temperature_c[100] = 35.1
    closed = [hour for hour, may in enumerate(open_hours(temperature_c, 24.0)[:170]) if not may]
    assert closed == list(range(77, 101))


def test_a_coat_that_is_never_known_dry_may_not_start() -> None:
    assert not any(open_hours(np.full(100, 20.0), np.inf))


def test_hours_before_the_series_are_as_its_first() -> None:
    cold_first = np.full(100, 15.0)
    cold_first[0] = 5.0
    assert open_hours(cold_first, 4.0).index(True) == 49
    assert open_hours(np.full(100, 15.0), 4.0)[0]


@given(
    st.lists(st.sampled_from([5.0, 12.0, 20.0, 40.0]), min_size=1, max_size=60),
    st.floats(0.0, 30.0),
    st.integers(0, 20),
)
def test_agrees_with_looking_at_every_hour(
    temperatures: list[float], dry_hours: float, conditioning_hours: int
) -> None:
    may_start = starts_in_range(
        np.array(temperatures),
        dry_hours_after=np.full(len(temperatures), dry_hours),
        minimum_c=MINIMUM_C,
        maximum_c=MAXIMUM_C,
        conditioning_hours=conditioning_hours,
    )
    for hour, may in enumerate(may_start):
        last = max(int(np.ceil(hour + dry_hours)), hour + 1)
        before = [temperatures[max(h, 0)] for h in range(hour - conditioning_hours, hour)]
        during = temperatures[hour:last]
        expected = (
            hour + dry_hours <= len(temperatures)
            and all(c >= MINIMUM_C for c in before + during)
            and all(c <= MAXIMUM_C for c in during)
        )
        assert may == expected


def test_uneven_series_are_refused() -> None:
    with pytest.raises(ValueError, match="dry_hours_after"):
        starts_in_range(
            np.zeros(5),
            dry_hours_after=np.zeros(4),
            minimum_c=10.0,
            maximum_c=35.0,
            conditioning_hours=48.0,
        )
