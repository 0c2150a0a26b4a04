"""Compound, powder, water and tape for a stage of a surface, from the geometry of its coats.

Litres are wet. A recess takes width x depth, with the width of the pair of edges: its two
triangles hold half of that, the other half stands for shrinkage as the water leaves (assumption).
A crown, the low arch drawn over a joint, takes 2/3 x width x height. A face feathered out from a
corner is a triangle. Edges: 57 mm wide and 1.4 mm deep, the middles of ASTM C1396 (50-64 mm,
0.51-2.29 mm; from memory). Heights of crowns and splits over coats are assumptions (common
practice, no published source).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from finishing.rules.coats import StageWork
from finishing.rules.drying import STAGE_THICKNESS_MM
from finishing.rules.levels import TAPED_KINDS
from finishing.rules.practice import TAPE_BED_MM, finished_width_mm
from finishing.rules.vocabulary import Compound, Hardening, JointKind, Stage

WASTE_SHARE = 0.10
"""Compound and tape that end up elsewhere: an assumption."""

_LITRES_PER_M_MM2 = 0.001
"""A cross-section of 1 mm2 holds a thousandth of a litre per metre."""


@dataclass(frozen=True, slots=True)
class Material:
    """What a stage uses up: wet compound in litres and kg, and for a powder what it is mixed of."""

    litres: float = 0.0
    kg: float = 0.0
    powder_kg: float = 0.0
    water_l: float = 0.0
    tape_m: float = 0.0


def recess_litres_per_m(pair_width_mm: float, depth_mm: float) -> float:
    """Return wet litres per metre for a recess of two tapered edges."""
    return pair_width_mm * depth_mm * _LITRES_PER_M_MM2


def crown_litres_per_m(width_mm: float, height_mm: float) -> float:
    """Return litres per metre for a crown (a parabola over its width)."""
    return 2 / 3 * width_mm * height_mm * _LITRES_PER_M_MM2


def feathered_litres_per_m(width_mm: float, height_mm: float) -> float:
    """Return litres per metre for one face feathered from ``height_mm`` to nothing."""
    return width_mm * height_mm / 2 * _LITRES_PER_M_MM2


_RECESS = recess_litres_per_m(2 * 57, 1.4)
_TAPERED_CROWN = crown_litres_per_m(finished_width_mm(JointKind.TAPERED), 0.6)
_BUTT_CROWN = crown_litres_per_m(600, 2.0)
_CORNER_BED = recess_litres_per_m(2 * 50, TAPE_BED_MM)
_CORNER_LAST = 2 * feathered_litres_per_m(finished_width_mm(JointKind.INTERNAL) / 2, 0.8)
_BEAD = 2 * feathered_litres_per_m(finished_width_mm(JointKind.EXTERNAL) / 2, 1.0)
_BEAD_BED = recess_litres_per_m(2 * 30, 1.5)
_DEEP_GAP = recess_litres_per_m(3, 12.5)
_FASTENER_COAT = 0.001
_CORNICE_BED = 0.20
_SCRAPE_MM = 0.1
_TOUCH_UP_MM = 0.01

_LITRES: Mapping[tuple[Stage, JointKind], float] = MappingProxyType(
    {
        (Stage.PREFILL, JointKind.TAPERED): _DEEP_GAP,
        (Stage.PREFILL, JointKind.BUTT): _DEEP_GAP,
        (Stage.PREFILL, JointKind.EXTERNAL): _BEAD_BED,
        (Stage.TAPE, JointKind.TAPERED): _RECESS * 2 / 3,
        (Stage.SECOND, JointKind.TAPERED): _RECESS / 3,
        (Stage.FINISH, JointKind.TAPERED): _TAPERED_CROWN,
        (Stage.TAPE, JointKind.BUTT): _BUTT_CROWN * 0.30,
        (Stage.SECOND, JointKind.BUTT): _BUTT_CROWN * 0.35,
        (Stage.FINISH, JointKind.BUTT): _BUTT_CROWN * 0.35,
        (Stage.TAPE, JointKind.INTERNAL): _CORNER_BED,
        (Stage.SECOND, JointKind.INTERNAL): _CORNER_LAST,
        (Stage.FINISH, JointKind.INTERNAL): _CORNER_LAST,
        (Stage.OTHER_FACE, JointKind.INTERNAL): _CORNER_LAST,
        (Stage.TAPE, JointKind.EXTERNAL): _BEAD * 0.50,
        (Stage.SECOND, JointKind.EXTERNAL): _BEAD * 0.25,
        (Stage.FINISH, JointKind.EXTERNAL): _BEAD * 0.25,
        (Stage.TAPE, JointKind.FASTENERS): _FASTENER_COAT,
        (Stage.SECOND, JointKind.FASTENERS): _FASTENER_COAT,
        (Stage.FINISH, JointKind.FASTENERS): _FASTENER_COAT,
        (Stage.FINISH, JointKind.SURFACE): _SCRAPE_MM,
        (Stage.SKIM, JointKind.SURFACE): STAGE_THICKNESS_MM[Stage.SKIM],
        (Stage.PRIMER_TOUCH_UP, JointKind.SURFACE): _TOUCH_UP_MM,
        (Stage.TRADES_TOUCH_UP, JointKind.SURFACE): _TOUCH_UP_MM,
    }
)
"""Wet litres per metre, per fastener, or per m2 (there a millimetre is a litre)."""


def litres_per_unit(stage: Stage, kind: JointKind) -> float:
    """Return the wet litres a stage leaves on a metre, a fastener or a m2, waste left out; 0 where
    it leaves none."""
    return _LITRES.get((stage, kind), 0.0)


def litres_for(
    stage_work: StageWork, quantities: Mapping[JointKind, float], *, area_m2: float
) -> float:
    """Return the wet litres of compound that stay on the surface, waste left out.

    quantities: metres of each joint kind and the count of fasteners. Stages without compound
    take none.
    """
    litres = stage_work.cornice_m * _CORNICE_BED
    for kind, share in stage_work.kinds.items():
        quantity = area_m2 if kind is JointKind.SURFACE else quantities.get(kind, 0.0)
        litres += litres_per_unit(stage_work.stage, kind) * quantity * share
    return litres


def stage_material(
    stage_work: StageWork,
    quantities: Mapping[JointKind, float],
    *,
    area_m2: float,
    compound: Compound | None,
    waste_share: float = WASTE_SHARE,
    tape_per_m: float | None = None,
) -> Material:
    """Return what to bring for a stage, waste included.

    compound: None for a stage that uses none. tape_per_m: metres of tape for a metre of
    joint, None for the compound's share of waste. Setting powder and its mixing water are told
    apart; ready-mixed compound has neither.
    """
    if compound is None:
        return Material()
    with_waste = 1 + waste_share
    tape_per_m = with_waste if tape_per_m is None else tape_per_m
    litres = litres_for(stage_work, quantities, area_m2=area_m2) * with_waste
    kg = litres * compound.density_kg_per_l
    mixed = compound.hardening is Hardening.SETS
    return Material(
        litres=litres,
        kg=kg,
        powder_kg=litres * compound.powder_kg_per_l,
        water_l=kg * compound.water_fraction if mixed else 0.0,
        tape_m=_taped_m(stage_work, quantities) * tape_per_m,
    )


def _taped_m(stage_work: StageWork, quantities: Mapping[JointKind, float]) -> float:
    if stage_work.stage is not Stage.TAPE:
        return 0.0
    return sum(
        quantities.get(kind, 0.0) * share
        for kind, share in stage_work.kinds.items()
        if kind in TAPED_KINDS
    )
