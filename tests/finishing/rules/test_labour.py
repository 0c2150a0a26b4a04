"""Person-minutes. Hours per m2: Building Construction Cost Data (from memory)."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.coats import SWITCHABLE, StageWork, stage_plan
from finishing.rules.labour import DEFAULT_RATES, Rate, RateError, person_minutes
from finishing.rules.levels import coats_for, levels_of
from finishing.rules.takeoff import RoughAverages, rough_takeoff
from finishing.rules.vocabulary import CornerTool, Family, JointKind, Stage

AREA_M2 = 1000.0
BOARD = rough_takeoff(AREA_M2, RoughAverages(bead_m_per_m2=0.0))
ON_THE_COST_BOOK = frozenset({Stage.SAND, Stage.SKIM_SAND})


def minutes_of(
    work: StageWork,
    *,
    is_ceiling: bool = False,
    height_m: float = 2.4,
    is_stairwell: bool = False,
    rates: tuple[Rate, ...] = DEFAULT_RATES,
) -> float:
    return person_minutes(
        work,
        BOARD.quantities,
        area_m2=AREA_M2,
        is_ceiling=is_ceiling,
        height_m=height_m,
        is_stairwell=is_stairwell,
        rates=rates,
    )


def hours_per_m2(level: str, corner: CornerTool, *, is_ceiling: bool) -> float:
    works = stage_plan(
        coats_for(Family.GA214, level),
        corner=corner,
        has=BOARD.quantities,
        enabled=ON_THE_COST_BOOK,
    )
    return sum(minutes_of(work, is_ceiling=is_ceiling) for work in works) / 60 / AREA_M2


@pytest.mark.parametrize(
    ("level", "is_ceiling", "expected"),
    [
        ("4", False, 0.097),
        ("4", True, 0.129),
        ("5", False, 0.097 + 0.043),
        ("5", True, 0.129 + 0.054),
    ],
)
def test_hours_per_m2_of_the_cost_book(level: str, is_ceiling: bool, expected: float) -> None:
    seen = hours_per_m2(level, CornerTool.FLAT_KNIFE, is_ceiling=is_ceiling)
    assert seen == pytest.approx(expected, rel=0.01)


def test_a_corner_tool_takes_as_long_over_both_coats() -> None:
    seen = hours_per_m2("4", CornerTool.CORNER_TOOL, is_ceiling=False)
    assert seen == pytest.approx(0.097, rel=0.03)


def test_the_split_over_stages() -> None:
    # 35 / 25 / 20 / 20 %, sanding last: an assumption.
    works = stage_plan(
        coats_for(Family.GA214, "4"),
        corner=CornerTool.FLAT_KNIFE,
        has=BOARD.quantities,
        enabled=ON_THE_COST_BOOK,
    )
    minutes = {work.stage: minutes_of(work) for work in works}
    shares = {stage: spent / sum(minutes.values()) for stage, spent in minutes.items()}
    assert shares == pytest.approx(
        {Stage.TAPE: 0.35, Stage.SECOND: 0.25, Stage.FINISH: 0.20, Stage.SAND: 0.20}, abs=0.005
    )


@pytest.mark.parametrize("corner", list(CornerTool))
@pytest.mark.parametrize(
    ("family", "level"), [(family, level) for family in Family for level in levels_of(family)]
)
def test_default_rates_cover_every_stage_of_every_level(
    family: Family, level: str, corner: CornerTool
) -> None:
    has = dict.fromkeys(JointKind, 10.0)
    works = stage_plan(
        coats_for(family, level),
        corner=corner,
        has=has,
        enabled=SWITCHABLE,
        cornice_m=10.0,
        deep_gap_share=0.1,
    )
    for work in works:
        assert minutes_of(work) > 0


TAPE_WORK = StageWork(Stage.TAPE, {JointKind.TAPERED: 1.0})


class TestSlowerWork:
    def test_height_and_stairs(self) -> None:
        plain = minutes_of(TAPE_WORK)
        heights = [minutes_of(TAPE_WORK, height_m=h) / plain for h in (2.7, 2.8, 3.6, 3.7)]
        assert heights == pytest.approx([1.0, 1.10, 1.10, 1.25])
        assert minutes_of(TAPE_WORK, is_stairwell=True) / plain == pytest.approx(1.30)

    def test_factors_multiply(self) -> None:
        slow = minutes_of(TAPE_WORK, is_ceiling=True, height_m=4.0, is_stairwell=True)
        assert slow / minutes_of(TAPE_WORK) == pytest.approx(0.129 / 0.097 * 1.25 * 1.30)


@given(st.floats(0.0, 1000.0), st.floats(0.1, 1.0), st.floats(0.01, 10.0))
def test_minutes_are_metres_times_share_times_rate(
    metres: float, share: float, rate_minutes: float
) -> None:
    rate = Rate(Stage.TAPE, JointKind.BUTT, rate_minutes, "m", "measured", date(2026, 3, 1))
    work = StageWork(Stage.TAPE, {JointKind.BUTT: share})
    minutes = person_minutes(
        work,
        {JointKind.BUTT: metres},
        area_m2=50.0,
        is_ceiling=False,
        height_m=2.4,
        is_stairwell=False,
        rates=[rate],
    )
    assert minutes == pytest.approx(metres * share * rate_minutes)


def test_a_rate_per_m2_counts_the_area() -> None:
    rate = Rate(Stage.TAPE, JointKind.TAPERED, 2.0, "m2", "measured", date(2026, 3, 1))
    assert minutes_of(TAPE_WORK, rates=(rate,)) == pytest.approx(2.0 * AREA_M2)


def test_cornice_is_paid_by_its_metres() -> None:
    work = StageWork(Stage.CORNICE, {}, cornice_m=20.0)
    rate = next(r for r in DEFAULT_RATES if r.stage is Stage.CORNICE)
    assert minutes_of(work) == pytest.approx(20.0 * rate.minutes)


class TestFaultyRates:
    def test_all_zero_and_negative_rates_are_named(self) -> None:
        rates = tuple(
            replace(rate, minutes=minutes)
            for rate, minutes in zip(DEFAULT_RATES, (0.0, -1.0, float("nan")), strict=False)
        )
        with pytest.raises(RateError) as caught:
            minutes_of(TAPE_WORK, rates=rates)
        assert len(caught.value.faults) == 3
        assert all(
            rate.stage in fault and rate.kind in fault
            for rate, fault in zip(rates, caught.value.faults, strict=True)
        )

    def test_a_rate_given_twice(self) -> None:
        with pytest.raises(RateError, match="2 times"):
            minutes_of(TAPE_WORK, rates=(*DEFAULT_RATES, DEFAULT_RATES[0]))

    def test_work_without_a_rate(self) -> None:
        with pytest.raises(RateError, match="tape, tapered: there is none"):
            minutes_of(TAPE_WORK, rates=())


def test_every_default_has_a_source_and_a_date() -> None:
    assert all(rate.source and rate.dated for rate in DEFAULT_RATES)
    assert len({(rate.stage, rate.kind) for rate in DEFAULT_RATES}) == len(DEFAULT_RATES)
