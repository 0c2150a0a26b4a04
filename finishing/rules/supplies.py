"""What is used up beside compounds: tape, beads, sandpaper.

How much of each a unit of work uses up is an assumption (common practice, no published source),
as is the tape's waste, the same as that of ``materials.py``; a company sets its own.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


class SupplyKind(StrEnum):
    """What is bought beside compounds, each by its unit: a metre, or a piece."""

    PAPER_TAPE = "paper_tape"
    MESH_TAPE = "mesh_tape"
    METAL_BEAD = "metal_bead"
    PLASTIC_BEAD = "plastic_bead"
    SANDPAPER = "sandpaper"


IN_METRES = frozenset(SupplyKind) - {SupplyKind.SANDPAPER}
"""Bought by the metre and used by the metre; the others are pieces, used by the square metre."""

USED_PER_UNIT: Mapping[SupplyKind, float] = MappingProxyType(
    {
        SupplyKind.PAPER_TAPE: 1.10,
        SupplyKind.MESH_TAPE: 1.10,
        SupplyKind.METAL_BEAD: 1.05,
        SupplyKind.PLASTIC_BEAD: 1.05,
        SupplyKind.SANDPAPER: 0.04,
    }
)
"""Metres bought for a metre of joint or corner, waste included; sheets for a m2 of board sanded."""
