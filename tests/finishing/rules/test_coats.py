"""Stages of a surface. Counts of coats are checked against the same tables as the levels."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.coats import SWITCHABLE, StageWork, order_within_stage, stage_plan
from finishing.rules.levels import TAPED_KINDS, coats_for, levels_of
from finishing.rules.vocabulary import COATS, CornerTool, Family, JointKind, Stage

EVERY_JOINT: Mapping[JointKind, float] = {
    JointKind.TAPERED: 30.0,
    JointKind.BUTT: 8.0,
    JointKind.INTERNAL: 20.0,
    JointKind.EXTERNAL: 5.0,
    JointKind.FASTENERS: 200.0,
    JointKind.SURFACE: 40.0,
}
COATED_KINDS = [kind for kind in JointKind if kind is not JointKind.SURFACE]
LEVELS = [(family, level) for family in Family for level in levels_of(family)]


def plan(
    level: str,
    family: Family = Family.GA214,
    *,
    corner: CornerTool = CornerTool.FLAT_KNIFE,
    has: Mapping[JointKind, float] = EVERY_JOINT,
    enabled: frozenset[Stage] = SWITCHABLE,
    cornice_m: float = 0.0,
    tiled_later: bool = False,
    deep_gap_share: float = 0.0,
) -> tuple[StageWork, ...]:
    return stage_plan(
        coats_for(family, level),
        corner=corner,
        has=has,
        enabled=enabled,
        cornice_m=cornice_m,
        tiled_later=tiled_later,
        deep_gap_share=deep_gap_share,
    )


def stages(works: Sequence[StageWork]) -> list[Stage]:
    return [work.stage for work in works]


def work_of(works: Sequence[StageWork], stage: Stage) -> StageWork:
    return next(work for work in works if work.stage is stage)


# GA-214 / ASTM C840 (read); sanding, inspection and touch-ups: common practice.
@pytest.mark.parametrize(
    ("level", "expected"),
    [
        ("0", []),
        ("1", [Stage.TAPE]),
        ("2", [Stage.PREFILL, Stage.TAPE]),
        ("3", [Stage.PREFILL, Stage.TAPE, Stage.SECOND, Stage.OTHER_FACE, Stage.SAND]),
        ("4", [Stage.PREFILL, Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.SAND]),
        (
            "5",
            [
                Stage.PREFILL,
                Stage.TAPE,
                Stage.SECOND,
                Stage.FINISH,
                Stage.SAND,
                Stage.SKIM,
                Stage.SKIM_SAND,
            ],
        ),
    ],
)
def test_stages_of_each_level(level: str, expected: list[Stage]) -> None:
    afterwards = {Stage.INSPECT, Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP}
    assert stages(plan(level, enabled=SWITCHABLE - afterwards)) == expected


@pytest.mark.parametrize("corner", list(CornerTool))
@pytest.mark.parametrize(("family", "level"), LEVELS)
def test_every_kind_gets_the_coats_of_its_level(
    family: Family, level: str, corner: CornerTool
) -> None:
    given_coats: dict[JointKind, float] = defaultdict(float)
    for work in plan(level, family, corner=corner):
        if work.stage in COATS - {Stage.PREFILL, Stage.SKIM}:
            for kind, share in work.kinds.items():
                given_coats[kind] += share
    asked = coats_for(family, level)
    for kind in COATED_KINDS:
        tape = 1 if asked.taped and kind in TAPED_KINDS else 0
        assert given_coats[kind] == asked.further[kind] + tape


@pytest.mark.parametrize(("family", "level"), LEVELS)
def test_stages_come_in_the_order_of_doing(family: Family, level: str) -> None:
    order = list(Stage)
    places = [order.index(stage) for stage in stages(plan(level, family, cornice_m=10.0))]
    assert places == sorted(set(places))


class TestInternalCorners:
    """Two coats only, and by flat knife the last one face by face: common practice."""

    def test_level_4_takes_the_other_face_along_with_the_finish_coat(self) -> None:
        works = plan("4")
        assert work_of(works, Stage.SECOND).kinds[JointKind.INTERNAL] == 0.5
        assert work_of(works, Stage.FINISH).kinds[JointKind.INTERNAL] == 0.5

    def test_level_3_has_no_later_coat_and_so_a_stage_for_the_other_face(self) -> None:
        other = work_of(plan("3"), Stage.OTHER_FACE)
        assert other.kinds == {JointKind.INTERNAL: 0.5}

    def test_a_surface_of_corners_alone_has_no_finish_coat_at_level_4(self) -> None:
        works = plan("4", has={JointKind.INTERNAL: 12.0})
        assert stages(works)[:3] == [Stage.TAPE, Stage.SECOND, Stage.OTHER_FACE]

    @pytest.mark.parametrize("level", ["3", "4"])
    def test_a_corner_tool_does_both_faces_at_once(self, level: str) -> None:
        works = plan(level, corner=CornerTool.CORNER_TOOL)
        assert work_of(works, Stage.SECOND).kinds[JointKind.INTERNAL] == 1.0
        assert Stage.OTHER_FACE not in stages(works)

    def test_the_tape_goes_on_both_faces_at_once(self) -> None:
        assert work_of(plan("1"), Stage.TAPE).kinds[JointKind.INTERNAL] == 1.0


class TestSwitches:
    @pytest.mark.parametrize("stage", sorted(SWITCHABLE))
    def test_a_switch_removes_its_stage_and_nothing_else(self, stage: Stage) -> None:
        whole = plan("5", cornice_m=10.0)
        without = plan("5", cornice_m=10.0, enabled=SWITCHABLE - {stage})
        assert stages(without) == [kept for kept in stages(whole) if kept is not stage]

    def test_coats_need_no_switch(self) -> None:
        works = plan("5", cornice_m=10.0, enabled=frozenset())
        assert stages(works) == [Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.SKIM]


class TestPrefill:
    def test_fixes_beads(self) -> None:
        assert work_of(plan("4"), Stage.PREFILL).kinds == {JointKind.EXTERNAL: 1.0}

    def test_is_not_needed_without_beads_or_gaps(self) -> None:
        assert Stage.PREFILL not in stages(plan("4", has={JointKind.TAPERED: 9.0}))

    def test_fills_deep_gaps_of_flat_joints(self) -> None:
        has = {JointKind.TAPERED: 9.0, JointKind.INTERNAL: 4.0}
        works = plan("4", has=has, deep_gap_share=0.2)
        assert work_of(works, Stage.PREFILL).kinds == {JointKind.TAPERED: 0.2}


class TestWholeSurface:
    def test_a_skim_has_a_sanding_of_its_own(self) -> None:
        works = plan("5")
        assert work_of(works, Stage.SKIM).kinds == {JointKind.SURFACE: 1.0}
        assert stages(works).index(Stage.SKIM_SAND) == stages(works).index(Stage.SKIM) + 1

    def test_the_scrape_of_q3_goes_with_the_finish_coat(self) -> None:
        works = plan("Q3", Family.QUALITY)
        assert work_of(works, Stage.FINISH).kinds[JointKind.SURFACE] == 1.0
        assert Stage.SKIM not in stages(works)


@pytest.mark.parametrize(("family", "level"), LEVELS)
def test_a_surface_tiled_later_is_taped_and_left(family: Family, level: str) -> None:
    works = plan(level, family, tiled_later=True)
    assert set(stages(works)) <= {Stage.PREFILL, Stage.TAPE}
    assert all(work.for_tiles for work in works)


def test_cornice_metres_stand_in_the_cornice_stage_only() -> None:
    works = plan("4", cornice_m=14.5)
    assert {work.stage: work.cornice_m for work in works if work.cornice_m} == {Stage.CORNICE: 14.5}


@given(
    has=st.dictionaries(st.sampled_from(COATED_KINDS), st.floats(0.0, 500.0)),
    at=st.sampled_from(LEVELS),
    corner=st.sampled_from(CornerTool),
)
def test_no_work_on_what_is_not_there(
    has: dict[JointKind, float], at: tuple[Family, str], corner: CornerTool
) -> None:
    works = plan(at[1], at[0], corner=corner, has=has)
    for work in works:
        assert work.kinds
        assert all(kind is JointKind.SURFACE or has[kind] > 0 for kind in work.kinds)


def test_ceilings_before_walls_and_flats_before_corners() -> None:
    # Common practice, no published source.
    lines = [
        (is_ceiling, kind)
        for is_ceiling in (False, True)
        for kind in (JointKind.INTERNAL, JointKind.EXTERNAL, JointKind.BUTT, JointKind.TAPERED)
    ]
    done = sorted(lines, key=lambda x: order_within_stage(is_ceiling=x[0], kind=x[1]))
    assert [is_ceiling for is_ceiling, _ in done] == [True] * 4 + [False] * 4
    assert {kind for _, kind in done[:2]} == {JointKind.TAPERED, JointKind.BUTT}
    assert {kind for _, kind in done[4:6]} == {JointKind.TAPERED, JointKind.BUTT}
