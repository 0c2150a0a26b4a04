"""What crews open and carry on: nothing gets lost, nothing is used after it has gone off."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.carry import Drawn, Use, carry

USES = st.lists(
    st.builds(
        Use,
        key=st.just("visit"),
        house=st.sampled_from("ABC"),
        day=st.integers(0, 60),
        amount=st.floats(0, 50).map(lambda kg: round(kg, 3)),
    ),
    max_size=12,
)
SIZES = st.sampled_from([[20.0], [5.0, 20.0], [3.0, 10.0, 25.0]])
KEEPS = st.one_of(st.none(), st.integers(0, 40))


def opened(drawn: Drawn) -> float:
    return sum(drawn.opened)


@given(USES, SIZES, KEEPS)
def test_what_is_opened_is_used_or_thrown_away_or_left(
    uses: list[Use], sizes: list[float], keeps: int | None
) -> None:
    drawn = carry(uses, sizes, keeps_days=keeps)
    used = sum(one.use.amount for one in drawn)
    spoiled = sum(one.spoiled for one in drawn)
    left = drawn[-1].left if drawn else 0.0
    assert sum(map(opened, drawn)) == pytest.approx(used + spoiled + left, abs=1e-4)


@given(USES, SIZES, KEEPS)
def test_every_visit_has_what_it_uses_and_nothing_falls_below_none(
    uses: list[Use], sizes: list[float], keeps: int | None
) -> None:
    before = 0.0
    for one in carry(uses, sizes, keeps_days=keeps):
        assert min(one.from_open, one.spoiled, one.left, *one.opened, 0) == 0
        assert one.from_open + opened(one) >= one.use.amount - 1e-5
        assert one.from_open + one.spoiled <= before + 1e-5
        before = one.left


@given(USES, SIZES, KEEPS)
def test_packs_are_bought_before_they_are_opened_and_never_for_nothing(
    uses: list[Use], sizes: list[float], keeps: int | None
) -> None:
    full = 0.0
    for one in carry(uses, sizes, keeps_days=keeps):
        if one.bought:
            assert opened(one) >= full - 1e-6
        full += sum(one.bought) - opened(one)
        assert full >= -1e-6


def test_what_is_left_goes_to_the_next_house() -> None:
    """13 kg, then 6 kg, in pails of 20: 7 are left, 1 after the second house."""
    first, second = carry([Use("1", "A", 0, 13), Use("2", "B", 3, 6)], [20.0], keeps_days=30)
    assert (first.opened, first.left) == ((20.0,), 7)
    assert (second.opened, second.from_open, second.left) == ((), 6, 1)


def test_a_pail_opened_too_long_ago_is_not_used() -> None:
    first, second = carry([Use("1", "A", 0, 13), Use("2", "B", 31, 6)], [20.0], keeps_days=30)
    assert first.left == 7
    assert (second.spoiled, second.from_open, second.opened, second.left) == (7, 0, (20.0,), 14)


def test_packs_are_chosen_for_all_of_a_crews_work_in_a_house() -> None:
    """12 kg in each of three visits make 36: one of 20, one of 10 and two of 3, not three mixes."""
    uses = [Use(str(day), "A", day, 12) for day in range(3)]
    drawn = carry(uses, [3.0, 10.0, 20.0], keeps_days=30)
    assert [one.bought for one in drawn] == [(20.0, 10.0, 3.0, 3.0), (), ()]
    assert [one.opened for one in drawn] == [(20.0,), (10.0,), (3.0, 3.0)]
    assert drawn[-1].left == pytest.approx(0)


def test_a_pack_kept_for_no_day_still_serves_the_day_it_was_opened() -> None:
    uses = [Use("1", "A", 0, 1), Use("2", "B", 0, 1), Use("3", "B", 1, 1)]
    _, same_day, next_day = carry(uses, [5.0], keeps_days=0)
    assert (same_day.from_open, same_day.left) == (1, 3)
    assert (next_day.spoiled, next_day.opened) == (3, (5.0,))
