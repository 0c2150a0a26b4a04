"""Which price holds when, and for whom."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.prices import INSTEAD, NEVER_FREE, DatedPrice, PriceKind, PriceList

MONDAY = date(2026, 3, 2)
HOUR, EXTRA, LATE = PriceKind.HOUR, PriceKind.EXTRA_HOUR, PriceKind.LATE_DAY


def test_a_price_holds_from_its_day_until_the_next() -> None:
    prices = PriceList(
        [DatedPrice(HOUR, 5000, MONDAY + timedelta(7)), DatedPrice(HOUR, 4500, MONDAY)]
    )
    assert prices.on(HOUR, MONDAY - timedelta(1)) is None
    assert prices.on(HOUR, MONDAY) == 4500
    assert prices.on(HOUR, MONDAY + timedelta(6)) == 4500
    assert prices.on(HOUR, MONDAY + timedelta(7)) == 5000


def test_a_crews_own_price_goes_before_the_companys() -> None:
    prices = PriceList([DatedPrice(HOUR, 4500, MONDAY), DatedPrice(HOUR, 6000, MONDAY, "north")])
    assert prices.on(HOUR, MONDAY, "north") == 6000
    assert prices.on(HOUR, MONDAY, "south") == 4500


@pytest.mark.parametrize("kind", INSTEAD)
def test_hours_without_a_price_of_their_own_cost_as_others(kind: PriceKind) -> None:
    prices = PriceList([DatedPrice(HOUR, 4500, MONDAY), DatedPrice(HOUR, 6000, MONDAY, "north")])
    assert prices.on(kind, MONDAY, "north") == 6000
    assert prices.on(kind, MONDAY) == 4500


def test_everybodys_extra_hour_is_a_crews_too_and_no_cheaper_than_its_ordinary_one() -> None:
    """Everybody's extra hour is 54.00. Who costs 45.00 by day costs that; who costs 60.00 by day
    costs 60.00; who has agreed on 50.00 costs 50.00."""
    prices = PriceList(
        [
            DatedPrice(HOUR, 4500, MONDAY),
            DatedPrice(EXTRA, 5400, MONDAY),
            DatedPrice(HOUR, 6000, MONDAY, "dear"),
            DatedPrice(HOUR, 6000, MONDAY, "agreed"),
            DatedPrice(EXTRA, 5000, MONDAY, "agreed"),
        ]
    )
    found = {whose: prices.on(EXTRA, MONDAY, whose) for whose in ("", "usual", "dear", "agreed")}
    assert found == {"": 5400, "usual": 5400, "dear": 6000, "agreed": 5000}


def test_a_late_day_costs_nothing_unless_somebody_said_so() -> None:
    assert PriceList([DatedPrice(HOUR, 4500, MONDAY)]).on(LATE, MONDAY) is None
    assert LATE not in NEVER_FREE


@given(
    st.lists(
        st.builds(
            DatedPrice,
            st.sampled_from(PriceKind),
            st.integers(0, 10**6),
            st.dates(MONDAY, MONDAY + timedelta(30)),
            st.sampled_from(["", "north"]),
        )
    ),
    st.sampled_from(PriceKind),
    st.dates(MONDAY, MONDAY + timedelta(30)),
)
def test_no_price_is_made_up(prices: list[DatedPrice], kind: PriceKind, day: date) -> None:
    found = PriceList(prices).on(kind, day, "north")
    kinds = {kind, INSTEAD.get(kind, kind)}
    held = {p.amount for p in prices if p.kind in kinds and p.since <= day}
    assert found in held if held else found is None
