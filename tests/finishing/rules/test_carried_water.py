"""Carried water, against a store of water that is filled and drained minute by minute."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.carried_water import drain_terms, gone_at
from finishing.rules.units import FloatArray

HOURS = 400
coats = st.lists(st.tuples(st.integers(0, 1500), st.floats(0.2, 2.0)), min_size=1, max_size=5).map(
    sorted
)
rates = st.lists(st.floats(0.02, 0.25), min_size=HOURS, max_size=HOURS).map(np.array)


def simulated_gone_at(
    rates_per_hour: FloatArray, end_minutes: Sequence[int], amounts: Sequence[float]
) -> float:
    """Return the first minute, in hours, at which all coats are on and no water is left."""
    water = 0.0
    for minute in range(HOURS * 60):
        water += sum(a for e, a in zip(end_minutes, amounts, strict=True) if e == minute)
        if minute >= end_minutes[-1] and water <= 1e-9:
            return minute / 60
        water = max(0.0, water - rates_per_hour[minute // 60] / 60)
    return float("inf")


def progress_of(rates_per_hour: FloatArray) -> FloatArray:
    return np.concatenate(([0.0], np.cumsum(rates_per_hour)))


@given(coats, rates)
def test_all_water_goes_when_the_simulated_store_is_empty(
    ended: list[tuple[int, float]], rates_per_hour: FloatArray
) -> None:
    end_minutes = [minute for minute, _ in ended]
    amounts = [amount for _, amount in ended]
    terms = drain_terms(amounts, [False] * (len(amounts) - 1))
    gone = gone_at(progress_of(rates_per_hour), [m / 60 for m in end_minutes], terms)
    expected = simulated_gone_at(rates_per_hour, end_minutes, amounts)
    assert gone == pytest.approx(expected, abs=1.01 / 60)


@given(st.lists(st.floats(0.2, 2.0), min_size=2, max_size=5), rates, st.data())
def test_coats_before_a_dry_point_may_be_left_out(
    amounts: list[float], rates_per_hour: FloatArray, data: st.DataObject
) -> None:
    done = progress_of(rates_per_hour)
    dry_between = [data.draw(st.booleans()) for _ in amounts[1:]]
    ends = [0.0]
    for k, must_be_dry in enumerate(dry_between):
        so_far = drain_terms(amounts[: k + 1], [False] * k)
        earliest = gone_at(done, ends, so_far) if must_be_dry else ends[-1]
        ends.append(earliest + data.draw(st.floats(0.0, 10.0)))
    all_terms = drain_terms(amounts, [False] * len(dry_between))
    fewer_terms = drain_terms(amounts, dry_between)
    assert len(fewer_terms) <= len(all_terms)
    assert gone_at(done, ends, fewer_terms) == pytest.approx(gone_at(done, ends, all_terms))


@pytest.mark.parametrize(
    ("dry_between", "expected"),
    [
        ([False, False], [(0, 2.25), (1, 1.25), (2, 0.5)]),
        ([True, False], [(1, 1.25), (2, 0.5)]),
        ([False, True], [(2, 0.5)]),
        ([True, True], [(2, 0.5)]),
    ],
)
def test_terms_of_three_coats_worked_by_hand(
    dry_between: list[bool], expected: list[tuple[int, float]]
) -> None:
    assert drain_terms([1.0, 0.75, 0.5], dry_between) == expected


def test_no_coats_no_water() -> None:
    assert drain_terms([], []) == []
    assert gone_at(np.array([0.0, 1.0]), [], []) == 0.0


def test_uneven_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="dry_between"):
        drain_terms([1.0, 1.0], [])
