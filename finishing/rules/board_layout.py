"""Boards and joints on the faces of a room: the layout that takeoff.py counts and pages draw.

A face is seen from inside the room, its origin at the lower left: x runs along a wall, or along
the room's length on the ceiling; y up the wall, or across the room. All sizes in metres.

Boards lie in rows along their long edges, whole boards first, from the ceiling down on walls.
In every second row of a wall or ceiling the boards begin at the other end, so that butt joints
are not in line; on walls that is left where openings would then cut more of them.
"""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, dist

from finishing.rules.placed_openings import ROUNDING_M, PlacedOpening, placings
from finishing.rules.room_shapes import WALLS, BoardLayout, RoomShape
from finishing.rules.vocabulary import JointKind

type Point = tuple[float, float]

CORNICE = "cornice"
_MM = 3


@dataclass(frozen=True, slots=True)
class Joint:
    """A straight piece of a joint; kind None: the edge that a cornice covers."""

    kind: JointKind | None
    start: Point
    end: Point

    @property
    def metres(self) -> float:
        """Its length."""
        return dist(self.start, self.end)


@dataclass(frozen=True, slots=True)
class Board:
    """A board or piece of one, before openings are cut out of it."""

    corner: Point
    opposite: Point


@dataclass(frozen=True, slots=True)
class Face:
    """A ceiling (wall None) or a wall, laid out: every joint stands in it once."""

    wall: int | None
    width_m: float
    height_m: float
    boards: tuple[Board, ...]
    joints: tuple[Joint, ...]
    openings: tuple[PlacedOpening, ...] = ()

    @property
    def area_m2(self) -> float:
        """Its area without openings."""
        holes_m2 = sum(o.opening.width_m * o.opening.height_m for o in self.openings)
        return self.width_m * self.height_m - holes_m2

    def metres(self, kind: JointKind | None) -> float:
        """Return the metres of one kind; None: of the cornice."""
        return sum(joint.metres for joint in self.joints if joint.kind is kind)


def lay_ceiling(shape: RoomShape, layout: BoardLayout) -> Face:
    """Return a ceiling's boards and joints; of a checked shape and layout."""
    length_m, width_m = shape.length_m, shape.width_m
    run_m, stack_m = (length_m, width_m) if layout.along else (width_m, length_m)
    rows = _pieces(stack_m, layout.board_width_m)
    ends = [_ends(run_m, layout.board_length_m, turned=row % 2 == 1) for row in range(len(rows))]
    boards, joints = _laid(rows, ends, run_m)
    if not layout.along:
        boards, joints = [_turned(board) for board in boards], [_swapped(one) for one in joints]
    edges = _edges(shape)
    return Face(None, length_m, width_m, tuple(boards), (*joints, *edges))


def lay_walls(shape: RoomShape, layout: BoardLayout) -> list[Face]:
    """Return the four walls' boards and joints; of a checked shape and layout.

    A wall's left corner stands in it, its right corner in the next wall. Of the ways in which its
    openings can stand, the one that leaves the most joints.
    """
    return [
        max(_wall_faces(shape, layout, wall), key=lambda face: round(_flat_m(face), _MM))
        for wall in WALLS
    ]


def _flat_m(face: Face) -> float:
    return face.metres(JointKind.TAPERED) + face.metres(JointKind.BUTT)


def _wall_faces(shape: RoomShape, layout: BoardLayout, wall: int) -> Iterator[Face]:
    """Yield the wall for each way to stand its openings, boards turned in every second row first;
    nothing where the openings do not fit."""
    wall_m, height_m = shape.wall_length_m(wall), shape.height_m
    spacing_m = layout.board_length_m if layout.along else layout.board_width_m
    rise_m = layout.board_width_m if layout.along else layout.board_length_m
    rows = [(height_m - top, height_m - foot) for foot, top in _pieces(height_m, rise_m)]
    for turns in (True, False) if layout.along else (False,):
        ends = [_ends(wall_m, spacing_m, turned=turns and n % 2 == 1) for n in range(len(rows))]
        lines_m = sorted({x for of_row in ends for x in of_row})
        for placed in placings(shape.openings_in(wall), wall_m, lines_m):
            boards, joints = _laid(rows, ends, wall_m)
            if not layout.along:
                joints = [_other_edge(joint) for joint in joints]
            cut = [piece for joint in joints for piece in _cut(joint, placed)]
            corner = Joint(JointKind.INTERNAL, (0.0, 0.0), (0.0, height_m))
            beads = [bead for opening in placed for bead in _beads(opening)]
            yield Face(wall, wall_m, height_m, tuple(boards), (*cut, corner, *beads), placed)


def _pieces(size_m: float, spacing_m: float) -> list[tuple[float, float]]:
    """Return the ends of whole pieces of that spacing over a size, and of the rest."""
    stops = [0.0, *_ends(size_m, spacing_m), size_m]
    return list(itertools.pairwise(stops))


def _ends(size_m: float, spacing_m: float, *, turned: bool = False) -> list[float]:
    """Return where pieces meet within a size; turned: counted from its other end."""
    count = max(ceil(size_m / spacing_m - ROUNDING_M) - 1, 0)
    ends = [(number + 1) * spacing_m for number in range(count)]
    return [size_m - end for end in reversed(ends)] if turned else ends


def _laid(
    rows: Sequence[tuple[float, float]], ends: Sequence[Sequence[float]], run_m: float
) -> tuple[list[Board], list[Joint]]:
    """Return boards in rows (the first, second, ... with its own butt joints) and their joints."""
    boards, joints = [], []
    for number, ((foot, top), of_row) in enumerate(zip(rows, ends, strict=True)):
        stops = [0.0, *of_row, run_m]
        boards += [Board((left, foot), (right, top)) for left, right in itertools.pairwise(stops)]
        joints += [Joint(JointKind.BUTT, (x, foot), (x, top)) for x in of_row]
        if number:
            y = foot if foot > rows[number - 1][0] else top
            joints.append(Joint(JointKind.TAPERED, (0.0, y), (run_m, y)))
    return boards, joints


def _other_edge(joint: Joint) -> Joint:
    """Return a joint of boards that stand upright: their long edges are the upright ones."""
    kind = JointKind.BUTT if joint.kind is JointKind.TAPERED else JointKind.TAPERED
    return Joint(kind, joint.start, joint.end)


def _swapped(joint: Joint) -> Joint:
    return Joint(joint.kind, joint.start[::-1], joint.end[::-1])


def _turned(board: Board) -> Board:
    return Board(board.corner[::-1], board.opposite[::-1])


def _edges(shape: RoomShape) -> Iterator[Joint]:
    """Yield the four edges of a ceiling where there is something to coat or to fit."""
    if not (shape.square_set or shape.cornice):
        return
    kind = JointKind.INTERNAL if shape.square_set else None
    right, top = shape.length_m, shape.width_m
    corners = [(0.0, 0.0), (right, 0.0), (right, top), (0.0, top), (0.0, 0.0)]
    for start, end in itertools.pairwise(corners):
        yield Joint(kind, start, end)


def _cut(joint: Joint, openings: Iterable[PlacedOpening]) -> Iterator[Joint]:
    """Yield what openings leave of a joint."""
    (x1, y1), (x2, y2) = joint.start, joint.end
    upright = x1 == x2
    first, last = (y1, y2) if upright else (x1, x2)
    for least, most in sorted(_holes(openings, upright=upright, at_m=x1 if upright else y1)):
        if least > first + ROUNDING_M:
            yield _stretch(joint, first, min(least, last))
        first = max(first, most)
        if first >= last:
            return
    if last > first + ROUNDING_M:
        yield _stretch(joint, first, last)


def _holes(
    openings: Iterable[PlacedOpening], *, upright: bool, at_m: float
) -> Iterator[tuple[float, float]]:
    for placed in openings:
        if upright and placed.spans(at_m):
            yield placed.opening.sill_m, placed.opening.head_m
        elif not upright and placed.reaches(at_m):
            yield placed.left_m, placed.right_m


def _stretch(joint: Joint, first: float, last: float) -> Joint:
    (x, y), upright = joint.start, joint.start[0] == joint.end[0]
    if upright:
        return Joint(joint.kind, (x, first), (x, last))
    return Joint(joint.kind, (first, y), (last, y))


def _beads(placed: PlacedOpening) -> Iterator[Joint]:
    """Yield the beads of a lined opening: two jambs, the head, and the sill where it has one."""
    if not placed.opening.lined:
        return
    sill_m, head_m = placed.opening.sill_m, placed.opening.head_m
    left_m, right_m = placed.left_m, placed.right_m
    around = [(left_m, sill_m), (left_m, head_m), (right_m, head_m), (right_m, sill_m)]
    if sill_m > 0:
        around.append(around[0])
    for start, end in itertools.pairwise(around):
        yield Joint(JointKind.EXTERNAL, start, end)
