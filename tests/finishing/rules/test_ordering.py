"""What is bought covers what is needed; what is there is used first."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.ordering import Arrival, Needed, cover, first_day_there

SIZES = [5.0, 20.0]
NEEDS = st.lists(
    st.builds(
        Needed,
        key=st.just("visit"),
        day=st.integers(0, 40),
        packs=st.lists(st.sampled_from(SIZES), min_size=1, max_size=4).map(tuple),
    ),
    max_size=8,
)
ARRIVAL = st.builds(Arrival, day=st.integers(-5, 40), amount=st.integers(1, 60).map(float))
ARRIVALS = st.lists(ARRIVAL, max_size=4)


@given(NEEDS, ARRIVALS, st.integers(0, 20))
def test_what_is_bought_and_what_is_there_cover_the_needs(
    needs: list[Needed], arrivals: list[Arrival], lead_days: int
) -> None:
    found = cover(needs, arrivals, SIZES, today=0, lead_days=lead_days)
    wanted = sum(sum(one.need.packs) for one in found)
    bought = sum(sum(one.to_buy) for one in found)
    there = sum(arrival.amount for arrival in arrivals)
    assert wanted <= bought + there + 1e-6
    assert bought <= wanted + len(found) * min(SIZES)
    assert all(one.there_on >= lead_days for one in found if one.to_buy)


@given(NEEDS, ARRIVALS, ARRIVAL, st.integers(0, 20))
def test_more_on_its_way_never_makes_more_late(
    needs: list[Needed], arrivals: list[Arrival], more: Arrival, lead_days: int
) -> None:
    def late(found_with: list[Arrival]) -> int:
        found = cover(needs, found_with, SIZES, today=0, lead_days=lead_days)
        return sum(one.late for one in found)

    assert late([*arrivals, more]) <= late(arrivals)
    assert late([*arrivals, Arrival(0, 1000.0)]) == 0


def test_what_cannot_be_there_in_time_is_late() -> None:
    """Nothing in the store, five days to deliver, wanted in three: two days late."""
    (found,) = cover([Needed("v", 3, (20.0,))], [], SIZES, today=0, lead_days=5)
    assert (found.to_buy, found.there_on, found.late) == ((20.0,), 5, True)


def test_what_is_on_its_way_is_waited_for_and_not_bought_twice() -> None:
    (found,) = cover([Needed("v", 3, (20.0,))], [Arrival(4, 20.0)], SIZES, today=0, lead_days=5)
    assert (found.to_buy, found.there_on, found.late) == ((), 4, True)
    (sooner,) = cover([Needed("v", 3, (20.0,))], [Arrival(4, 20.0)], SIZES, today=0, lead_days=2)
    assert (sooner.to_buy, sooner.there_on, sooner.late) == ((20.0,), 2, False)


def test_other_sizes_in_the_store_serve_as_far_as_they_go() -> None:
    (found,) = cover([Needed("v", 3, (20.0,))], [Arrival(0, 12.0)], SIZES, today=0, lead_days=0)
    assert found.to_buy == (5.0, 5.0)


def test_who_comes_first_is_served_first() -> None:
    """30 kg there, 40 on day 6, an order takes 10 days: 20, 30 and 50 kg."""
    arrivals = [Arrival(0, 30.0), Arrival(6, 40.0)]
    assert first_day_there([20, 30, 0, 50], arrivals, today=0, lead_days=10) == [0, 6, 0, 10]
    assert first_day_there([20, 30], arrivals, today=0, lead_days=3) == [0, 3]


@given(st.lists(st.floats(0, 50), max_size=6), ARRIVALS, st.integers(0, 20))
def test_nothing_is_there_later_than_an_order_made_today(
    amounts: list[float], arrivals: list[Arrival], lead_days: int
) -> None:
    days = first_day_there(amounts, arrivals, today=0, lead_days=lead_days)
    assert all(0 <= day <= max(lead_days, 0) for day in days)
    served = [day for day, amount in zip(days, amounts, strict=True) if amount > 1e-6]
    assert served == sorted(served)


def test_a_need_without_packs_to_buy_is_refused() -> None:
    with pytest.raises(ValueError, match="hold something"):
        cover([Needed("v", 3, (20.0,))], [Arrival(0, 5.0)], [], today=0, lead_days=0)
