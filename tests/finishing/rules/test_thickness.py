"""What crews find wet: worked by hand, and what holds for any list of reports."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.thickness import (
    MOST_FACTOR,
    STILL_WET_SHARE,
    CoatCode,
    FoundWet,
    HouseCode,
    ReportError,
    thickness,
)


def found_wet(coat: str, left: float, *, amount: float = 1.0, dry_at: float = 100.0) -> FoundWet:
    """Return a look in air in which the table's coat dries in 20 hours."""
    return FoundWet(coat, amount, dry_at - 20.0 * left, dry_at, left)


class TestByHand:
    def test_a_look_five_hours_late_gives_a_quarter_and_a_fifth(self) -> None:
        # 5 h of 20 have gone by since it was to be dry (0.25), and a fifth is still to go.
        coat = thickness([found_wet("hall:tape", -0.25)]).coats["hall:tape"]
        assert coat.code is CoatCode.SLOWER
        assert (coat.extra, coat.hours_past) == pytest.approx((0.45, 5.0))

    def test_a_thin_coat_has_a_fifth_of_its_own_to_go(self) -> None:
        # 0.5 x 0.2 at least to go, 0.05 predicted.
        coat = thickness([found_wet("hall:finish", 0.05, amount=0.5)]).coats["hall:finish"]
        assert (coat.extra, coat.hours_past) == pytest.approx((0.05, -1.0))

    def test_a_coat_that_was_to_be_wet_gets_nothing(self) -> None:
        told = thickness([found_wet("hall:tape", 0.6), found_wet("bath:tape", 0.2)])
        assert {coat.code for coat in told.coats.values()} == {CoatCode.AS_PREDICTED}
        assert told.house.factor == 1.0
        assert told.amount_of("hall:tape", 1.0) == 1.0

    def test_of_several_looks_the_one_that_tells_most_counts(self) -> None:
        looks = [found_wet("hall:tape", left) for left in (0.1, -0.5, -0.2)]
        coat = thickness(looks).coats["hall:tape"]
        assert coat.extra == pytest.approx(0.7)
        assert coat.looks == 3

    def test_one_slow_coat_is_no_habit_however_often_it_is_looked_at(self) -> None:
        told = thickness([found_wet("hall:tape", -0.2), found_wet("hall:tape", -0.4)])
        assert told.house.code is HouseCode.TOO_FEW_COATS
        assert told.amount_of("bath:tape", 1.0) == 1.0
        assert told.amount_of("hall:tape", 1.0) == pytest.approx(1.6)

    def test_the_factor_is_what_two_coats_have_both_needed(self) -> None:
        # 1 + 0.6, 1 + 0.3 and, of half a coat, 1 + (0.1 + 0.05) / 0.5: the second most is 1.3.
        told = thickness(
            [
                found_wet("hall:tape", -0.4),
                found_wet("bath:tape", -0.1),
                found_wet("bath:finish", -0.05, amount=0.5),
            ]
        )
        assert told.house.code is HouseCode.THICKER
        assert told.house.factor == pytest.approx(1.3)
        assert told.house.slower == ("bath:finish", "bath:tape", "hall:tape")
        assert told.amount_of("kitchen:tape", 0.78) == pytest.approx(0.78 * 1.3)
        assert told.amount_of("hall:tape", 1.0) == pytest.approx(1.6)

    def test_a_factor_at_its_bound_says_so(self) -> None:
        told = thickness([found_wet("hall:tape", -1.0), found_wet("bath:tape", -0.8)])
        assert told.house.code is HouseCode.THICKER_AT_BOUND
        assert told.house.factor == MOST_FACTOR
        assert told.house.coats_say == pytest.approx(2.0)

    def test_a_coat_never_predicted_dry(self) -> None:
        coat = thickness([FoundWet("hall:tape", 1.0, 5.0, float("inf"), 0.1)]).coats["hall:tape"]
        assert coat.extra == pytest.approx(0.1)

    def test_no_reports(self) -> None:
        told = thickness([])
        assert not told.coats
        assert told.house.factor == 1.0


AMOUNTS = {"hall:tape": 1.0, "hall:second": 0.78, "bath:tape": 1.0, "bath:finish": 0.44}
REPORTS = st.lists(
    st.builds(
        lambda coat, share: found_wet(coat, share * AMOUNTS[coat], amount=AMOUNTS[coat]),
        st.sampled_from(sorted(AMOUNTS)),
        st.floats(-3.0, 1.0),
    ),
    max_size=8,
)


class TestAnyReports:
    @given(REPORTS)
    def test_the_factor_stays_within_its_bounds(self, reports: list[FoundWet]) -> None:
        house = thickness(reports).house
        assert 1.0 <= house.factor <= MOST_FACTOR
        assert (house.factor < house.coats_say) == (house.code is HouseCode.THICKER_AT_BOUND)

    @given(REPORTS)
    def test_after_every_look_a_fifth_is_left_at_least(self, reports: list[FoundWet]) -> None:
        told = thickness(reports)
        for report in reports:
            left = report.left + told.amount_of(report.coat, report.amount) - report.amount
            assert left >= STILL_WET_SHARE * report.amount - 1e-9

    @given(REPORTS, REPORTS.filter(bool))
    def test_removing_reports_undoes_them_exactly(
        self, reports: list[FoundWet], more: list[FoundWet]
    ) -> None:
        both = [*more, *reports]
        thickness(both)
        del both[: len(more)]
        assert thickness(both) == thickness(reports)

    @given(REPORTS, st.randoms())
    def test_their_order_does_not_matter(self, reports: list[FoundWet], lot: object) -> None:
        shuffled = list(reports)
        lot.shuffle(shuffled)  # type: ignore[attr-defined]
        assert thickness(shuffled) == thickness(reports)

    @given(REPORTS, REPORTS)
    def test_a_further_report_never_shortens_anything(
        self, reports: list[FoundWet], more: list[FoundWet]
    ) -> None:
        fewer, all_told = thickness(reports), thickness([*reports, *more])
        for coat, amount in AMOUNTS.items():
            assert all_told.amount_of(coat, amount) >= fewer.amount_of(coat, amount)


class TestFaults:
    def test_every_fault_is_named_with_its_place(self) -> None:
        reports = [
            FoundWet("a", 0.0, 1.0, 2.0, 0.0),
            FoundWet("b", 1.0, 1.0, 2.0, 1.5),
            FoundWet("c", 1.0, 1.0, 2.0, -0.5),
            FoundWet("d", 1.0, 3.0, 2.0, 0.5),
            FoundWet("e", 1.0, float("nan"), 2.0, 0.5),
            FoundWet("f", 1.0, 1.0, float("nan"), 0.5),
            found_wet("g", 0.1, amount=1.0),
            found_wet("g", 0.1, amount=0.5),
        ]
        with pytest.raises(ReportError) as error:
            thickness(reports)
        named = [fault.split(":")[0] for fault in error.value.faults]
        places = [f"report {number}, coat {coat}" for number, coat in enumerate("abcdef")]
        assert named == [*places, "coat g"]
