"""Which plans are worth showing side by side."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from scheduling.solver.front import MOST, WORTHWHILE_MINUTES, to_show

FALLING = st.sets(st.integers(0, 2000), min_size=1, max_size=9).map(lambda s: sorted(s)[::-1])


def test_both_ends_and_the_middle_are_shown() -> None:
    assert to_show([900, 700, 500, 300, 100]) == [0, 2, 4]


def test_minutes_saved_are_not_worth_a_proposal() -> None:
    assert to_show([900, 870, 860]) == [0]
    assert to_show([900, 500, 480]) == [0, 1]
    assert to_show([900, 880, 500]) == [0, 2]


def test_the_last_minutes_late_are_worth_one() -> None:
    assert to_show([30, 10, 0]) == [0, 2]


@given(FALLING)
def test_what_is_shown_is_worth_it_and_nothing_worth_more_is_left_out(late: list[int]) -> None:
    shown = [late[number] for number in to_show(late)]
    assert 1 <= len(shown) <= MOST
    assert shown[0] == late[0]
    assert all(one - other >= WORTHWHILE_MINUTES or other == 0 for one, other in pairwise(shown))
    assert shown[-1] - late[-1] < WORTHWHILE_MINUTES
