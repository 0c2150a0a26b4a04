"""Pay by the hour and by the square metre, worked by hand, and sums that are sums."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.pay import (
    CREW,
    PaidTask,
    PaidVisit,
    Terms,
    Unpaid,
    amount_by_hour,
    visit_pay,
)

TWO = ("Ann", "Ben")


def paid(visit: PaidVisit, terms: Terms) -> dict[str, int]:
    return {line.payee: line.amount for line in visit_pay(visit, terms).lines}


class TestByHand:
    def test_by_the_hour(self) -> None:
        """Two people, seven hours and a half at 21.50: 161.25 each."""
        visit = PaidVisit(TWO, 450, [PaidTask("tape", 900, None)])
        found = visit_pay(visit, Terms(2150, {}, {}))
        assert {line.payee: line.amount for line in found.lines} == {"Ann": 16125, "Ben": 16125}
        assert found.total == 32250
        assert not found.unpaid

    def test_by_the_square_metre(self) -> None:
        """132.4 m2 at 1.15 are 152.26, to the crew, and nobody's hours."""
        visit = PaidVisit(TWO, 450, [PaidTask("tape", 900, 132.4)])
        assert paid(visit, Terms(2150, {}, {"tape": 115})) == {CREW: 15226}

    def test_who_has_an_agreement_of_their_own_is_paid_all_their_time(self) -> None:
        visit = PaidVisit(TWO, 60, [PaidTask("tape", 120, 10.0)])
        assert paid(visit, Terms(2000, {"Ben": 1200}, {"tape": 100})) == {CREW: 1000, "Ben": 1200}

    def test_some_of_it_by_the_hour(self) -> None:
        """A quarter of the published time is sanding by the hour: two hours of eight each."""
        tasks = [PaidTask("tape", 720, 100.0), PaidTask("sand", 240, 100.0)]
        found = paid(PaidVisit(TWO, 480, tasks), Terms(2000, {}, {"tape": 110}))
        assert found == {CREW: 11000, "Ann": 4000, "Ben": 4000}

    def test_work_left_is_paid_by_the_hour_alone(self) -> None:
        """Half of the published time was of a room that was not finished."""
        visit = PaidVisit(("Ann",), 480, [PaidTask("tape", 240, 50.0)], left_minutes=240)
        assert paid(visit, Terms(2000, {}, {"tape": 110})) == {CREW: 5500, "Ann": 8000}

    def test_extra_work_is_paid_by_the_hour_beside_square_metres(self) -> None:
        """Two of the 16 person-hours went into extra work: an hour of each."""
        tape = [PaidTask("tape", 900, 100.0)]
        visit = PaidVisit(TWO, 480, tape, extra_minutes=120)
        found = paid(visit, Terms(2000, {}, {"tape": 110}))
        assert found == {CREW: 11000, "Ann": 2000, "Ben": 2000}
        unagreed = visit_pay(visit, Terms(None, {}, {"tape": 110}))
        assert (unagreed.total, [*unagreed.unpaid]) == (11000, [Unpaid.NO_RATE])

    def test_half_a_cent_is_one(self) -> None:
        assert amount_by_hour(1, 30) == 1
        assert amount_by_hour(1, 29) == 0

    def test_what_cannot_be_paid_says_why(self) -> None:
        by_hour = visit_pay(PaidVisit(TWO, 60, [PaidTask("tape", 60, 5.0)]), Terms(None, {}, {}))
        assert not by_hour.lines
        assert by_hour.unpaid == {Unpaid.NO_RATE}
        by_area = PaidVisit(TWO, 60, [PaidTask("tape", 60, None)])
        found = visit_pay(by_area, Terms(None, {}, {"tape": 100}))
        assert not found.lines
        assert found.unpaid == {Unpaid.AREA_UNKNOWN}


tasks = st.builds(
    PaidTask,
    st.sampled_from(["tape", "second", "sand"]),
    st.integers(1, 2000),
    st.decimals(0, 500, places=2).map(float),
)
visits = st.builds(
    PaidVisit,
    st.lists(st.sampled_from(["Ann", "Ben", "Cy"]), unique=True),
    st.integers(0, 900),
    st.lists(tasks, max_size=5),
    st.integers(0, 500),
    st.integers(0, 2000),
)
rates = st.integers(1, 10_000)
terms = st.builds(
    Terms,
    rates,
    st.dictionaries(st.sampled_from(["Ann", "Ben"]), rates),
    st.dictionaries(st.sampled_from(["tape", "sand"]), rates),
)


class TestAnyVisit:
    @given(visits, terms)
    def test_each_payee_is_within_half_a_unit_of_the_exact_amount(
        self, visit: PaidVisit, terms: Terms
    ) -> None:
        for line in visit_pay(visit, terms).lines:
            assert line.amount >= 0
            if line.payee != CREW:
                rate = terms.by_person.get(line.payee, terms.hour)
                assert rate is not None
                assert abs(line.amount - line.quantity * rate) <= Fraction(1, 2)

    @given(visits, terms)
    def test_nobody_is_paid_for_more_time_than_there_was(
        self, visit: PaidVisit, terms: Terms
    ) -> None:
        for line in visit_pay(visit, terms).lines:
            if line.payee != CREW:
                assert line.quantity <= Fraction(visit.minutes, 60)

    @given(visits, st.integers(1, 10_000))
    def test_all_by_the_hour_is_people_times_time(self, visit: PaidVisit, hour: int) -> None:
        found = visit_pay(visit, Terms(hour, {}, {}))
        assert found.total == len(visit.people) * amount_by_hour(visit.minutes, hour)


@pytest.mark.parametrize("digits", [0.1, 0.07, 132.4])
def test_metres_count_as_they_are_written(digits: float) -> None:
    visit = PaidVisit((), 0, [PaidTask("tape", 1, digits)])
    (line,) = visit_pay(visit, Terms(None, {}, {"tape": 1000})).lines
    assert line.amount == round(digits * 1000)
