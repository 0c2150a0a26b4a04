"""Batches of setting powder, against sums worked by hand."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.compounds import ALL_PURPOSE, SETTING_BASE_45, SETTING_BASE_90
from finishing.rules.mixing import LEAST_LITRES, MOST_MIXES, Mixes, longer_working, mixes_for


def mixed(litres: float, *, minutes: int = 45, heads: int = 2, rate: float = 5.0) -> Mixes:
    compound = replace(SETTING_BASE_45, working_minutes=minutes)
    found = mixes_for(litres, compound, heads=heads, litres_per_hour=rate)
    assert found is not None
    return found


def test_batches_worked_by_hand() -> None:
    """Two people at 5 L an hour each place 7.5 L in 45 minutes: 20 L are three mixes of 6.67 L, of
    6.67 kg of powder and 4 L of water each (1.6 kg a litre, 37.5 % water), placed in 40 minutes."""
    found = mixed(20.0)
    assert found.count == 3
    assert found.litres == pytest.approx(20 / 3)
    assert found.powder_kg == pytest.approx(20 / 3)
    assert found.water_l == pytest.approx(4.0)
    assert found.placing_minutes == pytest.approx(40.0)


def test_what_just_fits_is_one_mix() -> None:
    assert mixed(7.5).count == 1
    assert mixed(7.51).count == 2
    assert mixed(0.0001, rate=500.0).count == 1


@given(st.floats(0.01, 500), st.integers(5, 240), st.integers(1, 8), st.floats(0.1, 60))
def test_no_batch_outlasts_its_working_time_and_all_make_the_whole(
    litres: float, minutes: int, heads: int, rate: float
) -> None:
    found = mixed(litres, minutes=minutes, heads=heads, rate=rate)
    assert found.placing_minutes <= minutes * 1.001
    assert found.count * found.litres == pytest.approx(litres)
    assert min(found.powder_kg, found.water_l, found.litres) > 0


@given(st.floats(0.01, 500), st.integers(5, 120))
def test_a_longer_working_time_never_takes_more_mixes(litres: float, minutes: int) -> None:
    assert mixed(litres, minutes=2 * minutes).count <= mixed(litres, minutes=minutes).count


def test_what_is_silly_and_what_is_then_suggested() -> None:
    """70 L by two at 5 L an hour: ten mixes of the 45 minute base, five of the 90 minute one."""
    few, many = mixed(60.0), mixed(70.0)
    assert (few.count, few.silly) == (MOST_MIXES, False)
    assert (many.count, many.silly) == (10, True)
    others = [ALL_PURPOSE, SETTING_BASE_45, SETTING_BASE_90]
    assert longer_working(70, SETTING_BASE_45, others, heads=2, litres_per_hour=5.0) is (
        SETTING_BASE_90
    )
    assert longer_working(60, SETTING_BASE_45, others, heads=2, litres_per_hour=5.0) is None


def test_small_batches_are_silly_only_where_there_are_several() -> None:
    assert not mixed(2.0).silly
    slow = mixed(5.0, heads=1, rate=2.0)
    assert slow.litres < LEAST_LITRES
    assert slow.silly


def test_a_drying_compound_is_not_mixed_and_nothing_needs_no_mix() -> None:
    assert mixes_for(20, ALL_PURPOSE, heads=2, litres_per_hour=5) is None
    assert mixes_for(0, SETTING_BASE_45, heads=2, litres_per_hour=5) is None


@pytest.mark.parametrize(
    ("heads", "rate", "changed"),
    [
        (0, 5.0, {}),
        (2, 0.0, {}),
        (2, 5.0, {"working_minutes": 0}),
        (2, 5.0, {"density_kg_per_l": 0}),
    ],
)
def test_zero_rates_and_a_compound_without_density_are_refused(
    heads: int, rate: float, changed: dict[str, Any]
) -> None:
    compound = replace(SETTING_BASE_45, **changed)
    with pytest.raises(ValueError, match="a placing rate"):
        mixes_for(20, compound, heads=heads, litres_per_hour=rate)
