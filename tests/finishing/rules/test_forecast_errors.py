"""Forecast errors by lead time."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.forecast_errors import LeadError, Pair, errors_by_lead


def pair(forecast: list[float], came: list[float], humidity_off: float = 0.0) -> Pair:
    flat = np.full(len(came), 0.6)
    return Pair(np.array(forecast), np.array(came), flat + humidity_off, flat)


def test_by_hand() -> None:
    """Two forecasts of two days: a kelvin too warm and too cold on the first day, so no bias and
    a miss of 1; both three too warm and five points too damp on the second."""
    one = pair([11.0] * 24 + [13.0] * 24, [10.0] * 48, 0.05)
    other = pair([9.0] * 24 + [13.0] * 24, [10.0] * 48, 0.05)
    first, second = errors_by_lead([one, other])
    assert (first.day, first.hours, first.bias_c, first.miss_c) == (1, 48, 0.0, 1.0)
    assert (second.day, second.bias_c, second.miss_c) == (2, 3.0, 3.0)
    assert second.bias_humidity == pytest.approx(0.05)
    assert second.miss_humidity == pytest.approx(0.05)


def test_hours_that_are_not_known_count_for_nothing() -> None:
    (found,) = errors_by_lead([pair([12.0, np.nan, 12.0], [10.0, 10.0, np.nan])])
    assert (found.hours, found.miss_c) == (1, 2.0)
    assert errors_by_lead([pair([np.nan], [1.0])]) == []
    assert errors_by_lead([]) == []


@given(
    st.lists(st.floats(-30, 40), min_size=1, max_size=80),
    st.lists(st.floats(-30, 40), min_size=80, max_size=80),
)
def test_the_miss_is_never_less_than_the_bias(forecast: list[float], came: list[float]) -> None:
    def miss(found: LeadError) -> bool:
        return found.miss_c >= abs(found.bias_c) - 1e-9

    assert all(map(miss, errors_by_lead([pair(forecast, came[: len(forecast)])])))


def test_arrays_of_different_hours() -> None:
    with pytest.raises(ValueError, match="different hours"):
        errors_by_lead([pair([1.0, 2.0], [1.0])])
