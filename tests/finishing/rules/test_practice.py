"""Practice values. All: common practice, no published source, unless a line says otherwise."""

import pytest

from finishing.rules.practice import (
    DRYING_WAIT_HOURS,
    FASTENER_STEP_MM,
    SANDING_WAIT_HOURS,
    SETTING_WAIT_HOURS,
    TAPE_BED_MM,
    Tool,
    finished_width_mm,
    tools_for,
    width_mm,
)
from finishing.rules.vocabulary import DUSTY, CornerTool, JointKind, Stage

COATS_IN_ORDER = (Stage.TAPE, Stage.SECOND, Stage.FINISH)


@pytest.mark.parametrize(
    ("kind", "stage", "least_mm", "most_mm", "each_side"),
    [
        (JointKind.TAPERED, Stage.TAPE, 150, 150, False),
        (JointKind.TAPERED, Stage.SECOND, 170, 200, False),
        (JointKind.TAPERED, Stage.FINISH, 250, 250, False),
        (JointKind.BUTT, Stage.TAPE, 120, 150, True),
        (JointKind.BUTT, Stage.SECOND, 200, 200, True),
        (JointKind.BUTT, Stage.FINISH, 250, 300, True),
        (JointKind.INTERNAL, Stage.SECOND, 100, 100, True),
        (JointKind.INTERNAL, Stage.OTHER_FACE, 100, 100, True),
        (JointKind.EXTERNAL, Stage.TAPE, 150, 150, True),
        (JointKind.EXTERNAL, Stage.SECOND, 200, 200, True),
        (JointKind.EXTERNAL, Stage.FINISH, 300, 300, True),
    ],
)
def test_widths_of_coats(
    kind: JointKind, stage: Stage, least_mm: float, most_mm: float, each_side: bool
) -> None:
    width = width_mm(kind, stage)
    assert width is not None
    assert (width.least_mm, width.most_mm, width.each_side) == (least_mm, most_mm, each_side)


@pytest.mark.parametrize(
    ("stage", "least_mm", "most_mm"),
    # Canadian practice (CMHC, read): 125, then 200, then 250-300 mm. A 150 mm knife tapes wider.
    [(Stage.TAPE, 125, 150), (Stage.SECOND, 200, 200), (Stage.FINISH, 250, 300)],
)
def test_flat_joints_agree_with_canadian_practice(
    stage: Stage, least_mm: float, most_mm: float
) -> None:
    width = width_mm(JointKind.TAPERED, stage)
    assert width is not None
    assert least_mm <= width.most_mm <= most_mm


@pytest.mark.parametrize("kind", [JointKind.TAPERED, JointKind.BUTT, JointKind.EXTERNAL])
def test_each_coat_is_wider_than_the_one_before(kind: JointKind) -> None:
    widths = [width_mm(kind, stage) for stage in COATS_IN_ORDER]
    overall = [width.overall_mm for width in widths if width]
    assert overall == sorted(set(overall))
    assert len(overall) == 3


def test_each_fastener_coat_reaches_25_mm_past_the_one_before() -> None:
    reach = [width_mm(JointKind.FASTENERS, stage) for stage in COATS_IN_ORDER]
    assert [width.most_mm for width in reach if width] == [25.0, 50.0, 75.0]
    assert FASTENER_STEP_MM == 25.0


def test_no_width_where_none_is_given() -> None:
    assert width_mm(JointKind.SURFACE, Stage.SKIM) is None
    assert finished_width_mm(JointKind.SURFACE) == 0.0


def test_finished_widths() -> None:
    assert finished_width_mm(JointKind.TAPERED) == 250.0
    assert 500.0 <= finished_width_mm(JointKind.BUTT) <= 600.0
    assert finished_width_mm(JointKind.INTERNAL) >= 200.0
    assert finished_width_mm(JointKind.EXTERNAL) == 600.0


def test_waits_and_bed() -> None:
    assert (SETTING_WAIT_HOURS, DRYING_WAIT_HOURS, SANDING_WAIT_HOURS) == (1.0, 24.0, 24.0)
    assert TAPE_BED_MM >= 1.0


@pytest.mark.parametrize("stage", list(Stage))
def test_every_stage_has_tools(stage: Stage) -> None:
    tools = tools_for(stage)
    assert tools
    assert len(set(tools)) == len(tools)


def test_dust_is_met_with_a_vacuum_and_a_respirator() -> None:
    # NIOSH publication 99-113 (read): vacuum, pole or wet sanding, respirator.
    for stage in DUSTY:
        assert {Tool.VACUUM, Tool.POLE_SANDER, Tool.RESPIRATOR} <= set(tools_for(stage))


def test_a_corner_tool_is_brought_where_corners_are_coated() -> None:
    assert Tool.CORNER_TOOL in tools_for(Stage.SECOND, CornerTool.CORNER_TOOL)
    assert Tool.CORNER_TOOL not in tools_for(Stage.SECOND)
    assert Tool.CORNER_TOOL not in tools_for(Stage.SAND, CornerTool.CORNER_TOOL)
