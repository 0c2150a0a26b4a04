"""Metres of joints, areas and screws from rooms, counted from a layout (board_layout.py) whose
rule can be checked by hand.

Boards lie in rows. A row runs along the boards' long edges:

- "along": along the room's length on ceilings, horizontally on walls;
- across: at right angles to the room's length on ceilings, upright on walls.

With ``run`` the length of a row and ``stack`` the size of the surface at right angles to it:

- rows = ceil(stack / board width); tapered joints = (rows - 1) x run;
- butt joints: ceil(run / board length) - 1 in every row, each as long as its row is wide, so
  together (ceil(run / board length) - 1) x stack.

Walls: boards are set from the ceiling down, whole boards first. An opening takes its width off
each horizontal joint line strictly between its sill and its head, and its height off
floor(its width / their spacing) upright lines, since it is laid where it meets the fewest
(placed_openings.py): what is not known must not make a takeoff smaller.
The four vertical corners belong to the walls. The wall-to-ceiling corner belongs to the ceiling
where it is square-set; a cornice takes its place; with neither there is nothing to coat.
A lined opening has a bead on two jambs and the head, and on the sill where it has one; the
reveals' own board is left out.

Screws: screws per m2 x the area that no finished joint covers, rounded up, so that none is
counted twice. A joint covers its length x its finished width (practice.py), a corner one face's
width on each surface it touches; where joints cross, the crossing is taken off twice. A cornice
covers as much as the corner it replaces.
"""

from collections.abc import Sequence
from math import ceil

from finishing.rules.board_layout import Face, lay_ceiling, lay_walls
from finishing.rules.practice import finished_width_mm
from finishing.rules.room_shapes import (
    LINEAR_JOINTS,
    SCREWS_PER_M2,
    BoardLayout,
    Opening,
    RoomShape,
    RoughAverages,
    SurfaceTakeoff,
)
from finishing.rules.takeoff_faults import (
    TakeoffError,
    layout_faults,
    raise_if_any,
    rough_faults,
    shape_faults,
)
from finishing.rules.vocabulary import JointKind

__all__ = [
    "BoardLayout",
    "Opening",
    "RoomShape",
    "RoughAverages",
    "SurfaceTakeoff",
    "TakeoffError",
    "rough_takeoff",
    "take_off_ceiling",
    "take_off_walls",
]

_ROUNDING = 1e-9
"""So that 1e-15 m2 over a whole number of screws is not one screw more."""
_M_PER_MM = 0.001


def take_off_ceiling(
    shape: RoomShape, layout: BoardLayout, *, screws_per_m2: float = SCREWS_PER_M2
) -> SurfaceTakeoff:
    """Return the takeoff of a room's ceiling; raise :class:`TakeoffError` with all faults."""
    raise_if_any([*shape_faults(shape), *layout_faults(layout, screws_per_m2)])
    face = lay_ceiling(shape, layout)
    metres = _metres([face])
    bare_m2 = _bare_m2(face.area_m2, metres, corner_faces_m=_ceiling_corner_m(shape))
    return SurfaceTakeoff(face.area_m2, metres, _screws(bare_m2, screws_per_m2), face.metres(None))


def take_off_walls(
    shape: RoomShape, layout: BoardLayout, *, screws_per_m2: float = SCREWS_PER_M2
) -> SurfaceTakeoff:
    """Return the takeoff of a room's four walls; raise :class:`TakeoffError` with all faults."""
    raise_if_any([*shape_faults(shape), *layout_faults(layout, screws_per_m2)])
    walls = lay_walls(shape, layout)
    metres = _metres(walls)
    area_m2 = sum(wall.area_m2 for wall in walls)
    faces_m = 2 * metres[JointKind.INTERNAL] + _ceiling_corner_m(shape)
    bare_m2 = _bare_m2(area_m2, metres, corner_faces_m=faces_m)
    return SurfaceTakeoff(area_m2, metres, _screws(bare_m2, screws_per_m2))


def rough_takeoff(area_m2: float, averages: RoughAverages | None = None) -> SurfaceTakeoff:
    """Return a takeoff from m2 of board and averages alone: mark it rough until it is measured.

    Raises :class:`TakeoffError` with all faults.
    """
    averages = averages or RoughAverages()
    raise_if_any([*rough_faults(area_m2, averages)])
    metres = dict.fromkeys(LINEAR_JOINTS, 0.0)
    for kind, share in averages.shares.items():
        metres[kind] = area_m2 * averages.tape_m_per_m2 * share
    metres[JointKind.EXTERNAL] = area_m2 * averages.bead_m_per_m2
    bare_m2 = _bare_m2(area_m2, metres, corner_faces_m=2 * metres[JointKind.INTERNAL])
    return SurfaceTakeoff(area_m2, metres, _screws(bare_m2, averages.screws_per_m2))


def _metres(faces: Sequence[Face]) -> dict[JointKind, float]:
    return {kind: sum(face.metres(kind) for face in faces) for kind in LINEAR_JOINTS}


def _ceiling_corner_m(shape: RoomShape) -> float:
    return shape.perimeter_m if shape.square_set or shape.cornice else 0.0


def _bare_m2(area_m2: float, metres: dict[JointKind, float], *, corner_faces_m: float) -> float:
    """Return the area that no finished joint covers; corner_faces_m counts each face apart."""
    face_m = finished_width_mm(JointKind.INTERNAL) / 2 * _M_PER_MM
    bead_face_m = finished_width_mm(JointKind.EXTERNAL) / 2 * _M_PER_MM
    flat_m2 = sum(
        metres[kind] * finished_width_mm(kind) * _M_PER_MM
        for kind in (JointKind.TAPERED, JointKind.BUTT)
    )
    corner_m2 = corner_faces_m * face_m + metres[JointKind.EXTERNAL] * bead_face_m
    return max(area_m2 - flat_m2 - corner_m2, 0.0)


def _screws(bare_m2: float, screws_per_m2: float) -> int:
    return ceil(bare_m2 * screws_per_m2 - _ROUNDING)
