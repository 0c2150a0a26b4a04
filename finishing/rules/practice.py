"""Values crews work by: widths of coats, waits, tools.

All of them: common practice, no published source. They are defaults to instruct by and to check
against; a product's own instructions and the lead hand's test come first.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from finishing.rules.vocabulary import CornerTool, JointKind, Stage

SETTING_WAIT_HOURS = 1.0
"""From a setting base coat to the next coat, at least."""
DRYING_WAIT_HOURS = 24.0
"""Between coats of a drying compound, at least."""
SANDING_WAIT_HOURS = 24.0
"""From the last coat to sanding, at least."""
TAPE_BED_MM = 1.0
"""Compound under the tape of an internal corner, on both sides, at least."""
FASTENER_STEP_MM = 25.0
"""How far each fastener coat reaches past the one before, in another direction."""


@dataclass(frozen=True, slots=True)
class CoatWidth:
    """How wide a coat is drawn, in mm: overall, or to each side of the joint."""

    least_mm: float
    most_mm: float
    each_side: bool = False

    @property
    def overall_mm(self) -> float:
        """Middle of the range, over both sides."""
        middle = (self.least_mm + self.most_mm) / 2
        return 2 * middle if self.each_side else middle


def _each_side(least_mm: float, most_mm: float) -> CoatWidth:
    return CoatWidth(least_mm, most_mm, each_side=True)


_LAST_CORNER_COAT = _each_side(100, 100)

_WIDTHS: Mapping[tuple[JointKind, Stage], CoatWidth] = {
    (JointKind.TAPERED, Stage.TAPE): CoatWidth(150, 150),
    (JointKind.TAPERED, Stage.SECOND): CoatWidth(170, 200),
    (JointKind.TAPERED, Stage.FINISH): CoatWidth(250, 250),
    (JointKind.BUTT, Stage.TAPE): _each_side(120, 150),
    (JointKind.BUTT, Stage.SECOND): _each_side(200, 200),
    (JointKind.BUTT, Stage.FINISH): _each_side(250, 300),
    (JointKind.INTERNAL, Stage.SECOND): _LAST_CORNER_COAT,
    (JointKind.INTERNAL, Stage.FINISH): _LAST_CORNER_COAT,
    (JointKind.INTERNAL, Stage.OTHER_FACE): _LAST_CORNER_COAT,
    (JointKind.EXTERNAL, Stage.TAPE): _each_side(150, 150),
    (JointKind.EXTERNAL, Stage.SECOND): _each_side(200, 200),
    (JointKind.EXTERNAL, Stage.FINISH): _each_side(300, 300),
    (JointKind.FASTENERS, Stage.TAPE): _each_side(FASTENER_STEP_MM, FASTENER_STEP_MM),
    (JointKind.FASTENERS, Stage.SECOND): _each_side(2 * FASTENER_STEP_MM, 2 * FASTENER_STEP_MM),
    (JointKind.FASTENERS, Stage.FINISH): _each_side(3 * FASTENER_STEP_MM, 3 * FASTENER_STEP_MM),
}


def width_mm(kind: JointKind, stage: Stage) -> CoatWidth | None:
    """Return how wide a stage's coat on a joint kind is, or None where no width is given.

    The last coat of an internal corner is at least this wide.
    """
    return _WIDTHS.get((kind, stage))


def finished_width_mm(kind: JointKind) -> float:
    """Return the overall width of a finished joint in mm, both faces of a corner together."""
    return max((w.overall_mm for (of, _), w in _WIDTHS.items() if of is kind), default=0.0)


class Tool(StrEnum):
    """Codes of what a crew brings; the words are elsewhere."""

    MIXER = "mixer"
    KNIFE_150 = "knife_150"
    KNIFE_200 = "knife_200"
    KNIFE_250 = "knife_250"
    KNIFE_300 = "knife_300"
    SKIMMING_BLADE = "skimming_blade"
    CORNER_TOOL = "corner_tool"
    TAPE_REEL = "tape_reel"
    POLE_SANDER = "pole_sander"
    VACUUM = "vacuum"
    RESPIRATOR = "respirator"
    LAMP = "lamp"
    MITRE_SAW = "mitre_saw"


_SANDING_TOOLS = (Tool.POLE_SANDER, Tool.VACUUM, Tool.RESPIRATOR, Tool.LAMP)

_TOOLS: Mapping[Stage, tuple[Tool, ...]] = {
    Stage.PREFILL: (Tool.MIXER, Tool.KNIFE_150),
    Stage.TAPE: (Tool.MIXER, Tool.KNIFE_150, Tool.TAPE_REEL),
    Stage.SECOND: (Tool.MIXER, Tool.KNIFE_150, Tool.KNIFE_200),
    Stage.FINISH: (Tool.MIXER, Tool.KNIFE_150, Tool.KNIFE_250, Tool.KNIFE_300),
    Stage.OTHER_FACE: (Tool.MIXER, Tool.KNIFE_150),
    Stage.SAND: _SANDING_TOOLS,
    Stage.SKIM: (Tool.MIXER, Tool.SKIMMING_BLADE),
    Stage.SKIM_SAND: _SANDING_TOOLS,
    Stage.CORNICE: (Tool.MIXER, Tool.KNIFE_150, Tool.MITRE_SAW),
    Stage.INSPECT: (Tool.LAMP,),
    Stage.PRIMER_TOUCH_UP: (Tool.KNIFE_150, Tool.KNIFE_200, *_SANDING_TOOLS),
    Stage.TRADES_TOUCH_UP: (Tool.KNIFE_150, Tool.KNIFE_200, *_SANDING_TOOLS),
}
_CORNER_STAGES = frozenset({Stage.SECOND, Stage.FINISH})


def tools_for(stage: Stage, corner: CornerTool = CornerTool.FLAT_KNIFE) -> tuple[Tool, ...]:
    """Return the tools a crew brings for a stage."""
    uses_corner_tool = corner is CornerTool.CORNER_TOOL and stage in _CORNER_STAGES
    return (*_TOOLS[stage], Tool.CORNER_TOOL) if uses_corner_tool else _TOOLS[stage]
