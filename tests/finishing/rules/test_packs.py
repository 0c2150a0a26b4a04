"""Packs that cover a need, held against counting through all mixes."""

from itertools import product
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.packs import best_packs

SIZES = st.lists(st.sampled_from([1.0, 2.5, 3.0, 5.0, 7.0, 10.0, 20.0]), min_size=1, unique=True)


def counted_through(need: float, sizes: list[float]) -> tuple[float, int]:
    """The least left over and the fewest packs with it, of every mix there is."""
    counts = [range(ceil(need / size) + 1) for size in sizes]
    mixes = (
        (sum(n * s for n, s in zip(mix, sizes, strict=True)), sum(mix)) for mix in product(*counts)
    )
    return min((total - need, packs) for total, packs in mixes if total >= need)


@given(st.floats(0.1, 40), SIZES)
def test_no_mix_leaves_less_over_and_none_that_does_has_fewer_packs(
    need: float, sizes: list[float]
) -> None:
    need = round(need, 2)
    chosen = best_packs(need, sizes[:3])
    over, fewest = counted_through(need, sizes[:3])
    assert sum(chosen) - need == pytest.approx(over, abs=1e-6)
    assert len(chosen) == fewest


@given(st.floats(0, 1e6), SIZES)
def test_packs_cover_the_need_and_leave_less_than_the_smallest(
    need: float, sizes: list[float]
) -> None:
    total = sum(best_packs(need, sizes))
    assert need - 1e-5 <= total <= need + min(sizes)


def test_sizes_that_are_no_round_numbers() -> None:
    """Tape in rolls of 75 m and of 152.4 m (500 ft): two of 75 leave less than one of 152.4."""
    assert best_packs(150, [75, 152.4]) == (75, 75)
    assert best_packs(151, [75, 152.4]) == (152.4,)


def test_packs_by_the_pound_cover_what_is_needed_in_kg() -> None:
    """Ten pails of 5 lb (2.26796 kg) hold 22.6796 kg: 22.68 kg take eleven."""
    assert len(best_packs(22.67, [2.26796])) == 10
    assert len(best_packs(22.68, [2.26796])) == 11


def test_nothing_needs_no_pack_and_a_pack_of_nothing_is_refused() -> None:
    assert best_packs(0, []) == ()
    for sizes in ([], [5.0, 0.0], [-1.0], [0.0001]):
        with pytest.raises(ValueError, match="hold something"):
            best_packs(1, sizes)
