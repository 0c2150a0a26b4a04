"""Packs that cover a need, held against counting through all mixes."""

from itertools import product
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.packs import best_packs

SIZES = st.lists(st.sampled_from([1.0, 2.5, 3.0, 5.0, 7.0, 10.0, 20.0]), min_size=1, unique=True)


def counted_through(need: float, sizes: list[float]) -> tuple[int, float]:
    """The fewest packs, and the least left over with so many, of every mix that leaves less over
    than the smallest pack holds."""
    counts = [range(ceil(need / size) + 1) for size in sizes]
    mixes = (
        (sum(mix), sum(n * s for n, s in zip(mix, sizes, strict=True)) - need)
        for mix in product(*counts)
    )
    return min((packs, over) for packs, over in mixes if -1e-9 <= over < min(sizes) - 1e-9)


@given(st.floats(0.1, 40), SIZES)
def test_no_mix_has_fewer_packs_and_none_of_as_many_leaves_less_over(
    need: float, sizes: list[float]
) -> None:
    need = round(need, 2)
    chosen = best_packs(need, sizes[:3])
    fewest, over = counted_through(need, sizes[:3])
    assert len(chosen) == fewest
    assert sum(chosen) - need == pytest.approx(over, abs=1e-6)


def test_small_tubs_are_not_heaped_up_to_leave_a_kilo_less() -> None:
    """84.7 kg in pails of 20 and tubs of 3: six that leave 1.3 kg, not seventeen that leave 0.3."""
    assert best_packs(84.7, [3, 20]) == (20, 20, 20, 20, 3, 3)


@given(st.floats(0, 1e6), SIZES)
def test_packs_cover_the_need_and_leave_less_than_the_smallest(
    need: float, sizes: list[float]
) -> None:
    total = sum(best_packs(need, sizes))
    assert need - 1e-5 <= total <= need + min(sizes)


def test_sizes_that_are_no_round_numbers() -> None:
    """Tape in rolls of 75 m and of 152.4 m (500 ft)."""
    assert best_packs(150, [75, 152.4]) == (152.4,)
    assert best_packs(153, [75, 152.4]) == (152.4, 75)


def test_packs_by_the_pound_cover_what_is_needed_in_kg() -> None:
    """Ten pails of 5 lb (2.26796 kg) hold 22.6796 kg: 22.68 kg take eleven."""
    assert len(best_packs(22.67, [2.26796])) == 10
    assert len(best_packs(22.68, [2.26796])) == 11


def test_nothing_needs_no_pack_and_a_pack_of_nothing_is_refused() -> None:
    assert best_packs(0, []) == ()
    for sizes in ([], [5.0, 0.0], [-1.0], [0.0001]):
        with pytest.raises(ValueError, match="hold something"):
            best_packs(1, sizes)
