"""What visits cost, and that nothing is lost or made on the way to a plan's total."""

from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.costs import (
    PARTS,
    Cost,
    Hours,
    VisitWork,
    Way,
    late_cost,
    rounded,
    total_of,
    visit_cost,
)
from finishing.rules.prices import DatedPrice, PriceKind, PriceList

MONDAY = date(2026, 3, 2)


def prices(**amounts: int) -> PriceList:
    return PriceList([DatedPrice(PriceKind(kind), n, MONDAY) for kind, n in amounts.items()])


def test_a_visit_worked_out_by_hand() -> None:
    """Two people for 7 h 50 at 45.00 and for an hour at 67.50, 25 minutes and 12 km on the way
    (0.42 a km), 13.4 kg at 1.19: 705.00 + 135.00 + 37.50 + 5.04 + 15.946."""
    work = VisitWork(
        "north",
        (Hours(MONDAY, 470, 2), Hours(MONDAY, 60, 2, is_extra=True)),
        (Way(MONDAY, 25, 2, 12.0),),
        Fraction("13.4") * 119,
    )
    cost = visit_cost(work, prices(hour=4500, extra_hour=6750, travel_km=42))
    assert cost == Cost(labour=70500, extra=13500, travel=3750 + 504, material=1595)
    assert cost.total == 89849


def test_extra_hours_of_a_dear_crew_cost_no_less_than_its_ordinary_ones() -> None:
    """Two people for an hour and an extra hour, at 60.00 their own and 54.00 everybody's extra
    hour: 120.00 each. With 75.00 for everybody's extra hour, that costs 150.00."""
    hours = (Hours(MONDAY, 60, 2), Hours(MONDAY, 60, 2, is_extra=True))
    own = DatedPrice(PriceKind.HOUR, 6000, MONDAY, "north")
    for everybodys, extra in ((5400, 12000), (7500, 15000)):
        listed = PriceList([own, DatedPrice(PriceKind.EXTRA_HOUR, everybodys, MONDAY)])
        assert visit_cost(VisitWork("north", hours), listed) == Cost(labour=12000, extra=extra)


def test_what_has_no_price_is_named_and_counts_as_nothing() -> None:
    hours = (Hours(MONDAY, 60, 2), Hours(MONDAY, 60, 2, is_extra=True))
    tape = frozenset({"paper_tape"})
    cost = visit_cost(VisitWork("n", hours, (Way(MONDAY, 5, 2, 3.0),), unpriced=tape), prices())
    assert cost.total == 0
    assert cost.unpriced == {"hour", "extra_hour", "travel_hour", "paper_tape"}
    no_way = visit_cost(VisitWork("n", hours), prices(hour=4500))
    assert no_way == Cost(labour=9000, extra=9000)


def test_late_days_cost_what_they_did_on_the_day_that_was_promised() -> None:
    dated = PriceList(
        [
            DatedPrice(PriceKind.LATE_DAY, 25000, MONDAY),
            DatedPrice(PriceKind.LATE_DAY, 90000, date(2026, 3, 9)),
            DatedPrice(PriceKind.LATE_DAY, 0, MONDAY, "mill"),
        ]
    )
    assert late_cost(3, date(2026, 3, 6), "barn", dated) == Cost(late=75000)
    assert late_cost(3, date(2026, 3, 6), "mill", dated) == Cost()
    assert late_cost(0, date(2026, 3, 6), "barn", prices()) == Cost()
    assert late_cost(1, date(2026, 3, 6), "barn", prices()).unpriced == {"late_day"}


def test_half_a_cent_is_a_cent() -> None:
    assert [rounded(Fraction(n, 4)) for n in range(5)] == [0, 0, 1, 1, 1]


AMOUNTS = st.fixed_dictionaries(
    {kind.value: st.integers(0, 10**7) for kind in PriceKind if kind is not PriceKind.LATE_DAY}
)
HOURS = st.builds(Hours, st.just(MONDAY), st.integers(5, 600), st.integers(1, 9), st.booleans())
WAYS = st.builds(Way, st.just(MONDAY), st.integers(5, 200), st.integers(1, 9), st.floats(0, 300))
VISITS = st.builds(
    VisitWork,
    st.just("north"),
    st.lists(HOURS, min_size=1, max_size=3).map(tuple),
    st.lists(WAYS, max_size=1).map(tuple),
    st.integers(0, 10**9).map(lambda n: Fraction(n, 997)),
)


@given(AMOUNTS, st.lists(st.lists(VISITS, max_size=4), max_size=4))
def test_visits_add_up_to_houses_and_these_to_the_plan_to_the_cent(
    amounts: dict[str, int], houses: list[list[VisitWork]]
) -> None:
    listed = prices(**amounts)
    by_house = [[visit_cost(visit, listed) for visit in visits] for visits in houses]
    plan = total_of(total_of(visits) for visits in by_house)
    every = [cost for visits in by_house for cost in visits]
    for part in PARTS:
        assert getattr(plan, part) == sum(getattr(cost, part) for cost in every)
    assert plan.total == sum(cost.total for cost in every)
    assert all(int(getattr(cost, part)) >= 0 for cost in every for part in PARTS)


@given(AMOUNTS, VISITS)
def test_a_visit_is_half_a_minor_unit_off_at_most_in_each_part(
    amounts: dict[str, int], visit: VisitWork
) -> None:
    cost = visit_cost(visit, prices(**amounts))
    exact = sum(
        Fraction(hours.person_minutes, 60) * amounts["extra_hour" if hours.is_extra else "hour"]
        for hours in visit.hours
    )
    assert float(abs(cost.labour + cost.extra - exact)) <= 1
    assert float(abs(cost.material - visit.material)) <= 0.5
