"""Metres and pieces that a stage uses up beside compound: tape, beads, sandpaper.

Tape goes under the first coat of taped joints. Beads are fixed before it, with the gaps filled, or
with the first coat where nothing is done before. Sandpaper is used by the m2 sanded: a joint's
length by its finished width (practice.py), a fastener's spot by the width of its last coat, or the
whole surface.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import pi

from finishing.rules.levels import TAPED_KINDS
from finishing.rules.practice import finished_width_mm
from finishing.rules.supplies import SupplyKind
from finishing.rules.vocabulary import DUSTY, JointKind, Stage, Tape

TAPES: Mapping[Tape, SupplyKind] = {
    Tape.PAPER: SupplyKind.PAPER_TAPE,
    Tape.MESH: SupplyKind.MESH_TAPE,
}


@dataclass(frozen=True, slots=True)
class Worked:
    """So much of a joint kind (m, a count, m2) that a stage works on."""

    kind: JointKind
    quantity: float
    plastic_bead: bool = False


def units_used(
    stage: Stage, work: Iterable[Worked], *, tape: Tape, beads_now: bool
) -> dict[SupplyKind, float]:
    """Return by what is used the metres of joint or corner, or the m2 sanded; waste left out.

    beads_now: whether this stage is the first that works on the beads, which fixes them.
    """
    found: dict[SupplyKind, float] = {}
    for one in work:
        if stage is Stage.TAPE and one.kind in TAPED_KINDS:
            _add(found, TAPES[tape], one.quantity)
        if beads_now and one.kind is JointKind.EXTERNAL:
            plastic = SupplyKind.PLASTIC_BEAD if one.plastic_bead else SupplyKind.METAL_BEAD
            _add(found, plastic, one.quantity)
        if stage in DUSTY:
            _add(found, SupplyKind.SANDPAPER, sanded_m2(one.kind, one.quantity))
    return found


def sanded_m2(kind: JointKind, quantity: float) -> float:
    """Return the m2 that sanding so much of a joint kind covers."""
    if kind is JointKind.SURFACE:
        return quantity
    width_m = finished_width_mm(kind) / 1000
    return quantity * (pi / 4 * width_m**2 if kind is JointKind.FASTENERS else width_m)


def _add(found: dict[SupplyKind, float], kind: SupplyKind, amount: float) -> None:
    if amount > 0:
        found[kind] = found.get(kind, 0.0) + amount
