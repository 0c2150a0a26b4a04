"""The layout of boards: hand-worked rooms, and the same metres as the rule says in words."""

from itertools import combinations
from math import ceil, floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.board_layout import Face, Joint, lay_ceiling, lay_walls
from finishing.rules.room_shapes import BoardLayout, Opening, RoomShape
from finishing.rules.takeoff import TakeoffError, take_off_ceiling, take_off_walls
from finishing.rules.vocabulary import JointKind

ALONG = BoardLayout(1.2, 3.0, along=True)
ACROSS = BoardLayout(1.2, 3.0, along=False)
DOOR = Opening(0.9, 2.1)
LINED_WINDOW = Opening(1.5, 1.2, 0.9, lined=True, wall=2)
LIVING_ROOM = RoomShape(4.8, 3.6, 2.4, (DOOR, LINED_WINDOW), square_set=True)


def ends(face: Face, kind: JointKind | None) -> set[tuple[float, float, float, float]]:
    """From where to where the joints of one kind run: x, y, x, y, in metres."""
    of_kind = [(*joint.start, *joint.end) for joint in face.joints if joint.kind is kind]
    return {(round(a, 3), round(b, 3), round(c, 3), round(d, 3)) for a, b, c, d in of_kind}


class TestLivingRoomByHand:
    def test_ceiling_with_butt_joints_that_are_not_in_line(self) -> None:
        ceiling = lay_ceiling(LIVING_ROOM, ALONG)
        assert ends(ceiling, JointKind.TAPERED) == {(0, 1.2, 4.8, 1.2), (0, 2.4, 4.8, 2.4)}
        # Boards of 3.0 m from the left, in the second row from the right.
        assert ends(ceiling, JointKind.BUTT) == {
            (3.0, 0, 3.0, 1.2),
            (1.8, 1.2, 1.8, 2.4),
            (3.0, 2.4, 3.0, 3.6),
        }
        assert len(ceiling.boards) == 6
        assert ceiling.metres(JointKind.INTERNAL) == pytest.approx(16.8)

    def test_ceiling_across(self) -> None:
        ceiling = lay_ceiling(LIVING_ROOM, ACROSS)
        uprights = {(x, 0, x, 3.6) for x in (1.2, 2.4, 3.6)}
        assert ends(ceiling, JointKind.TAPERED) == uprights
        assert (0, 3.0, 1.2, 3.0) in ends(ceiling, JointKind.BUTT)
        assert (1.2, 0.6, 2.4, 0.6) in ends(ceiling, JointKind.BUTT)

    def test_the_wall_with_the_door(self) -> None:
        wall = lay_walls(LIVING_ROOM, ALONG)[0]
        (door,) = wall.openings
        # Between the butt joints at 1.8 m (lower row) and 3.0 m or beside them, never on one.
        butts = ends(wall, JointKind.BUTT)
        assert butts == {(3.0, 1.2, 3.0, 2.4), (1.8, 0, 1.8, 1.2)}
        assert not any(door.spans(x) for x, *_ in butts)
        left, right = round(door.left_m, 3), round(door.right_m, 3)
        assert ends(wall, JointKind.TAPERED) == {(0, 1.2, left, 1.2), (right, 1.2, 4.8, 1.2)}
        assert wall.area_m2 == pytest.approx(4.8 * 2.4 - 0.9 * 2.1)

    def test_upright_boards_leave_a_wide_window_one_joint_less(self) -> None:
        wall = lay_walls(LIVING_ROOM, ACROSS)[2]
        assert wall.metres(JointKind.TAPERED) == pytest.approx(3 * 2.4 - 1.2)
        assert wall.metres(JointKind.BUTT) == 0
        assert wall.metres(JointKind.EXTERNAL) == pytest.approx(5.4)

    def test_a_cornice_takes_the_place_of_the_corner(self) -> None:
        ceiling = lay_ceiling(RoomShape(4.8, 3.6, 2.4, cornice=True), ALONG)
        assert ceiling.metres(None) == pytest.approx(16.8)
        assert ceiling.metres(JointKind.INTERNAL) == 0


def test_an_opening_as_wide_as_two_boards_leaves_the_joint_above_it() -> None:
    # 2.4 m of wall, boards of 1.2 m upright: one joint, which the opening cuts up to its head.
    room = RoomShape(2.4, 3.0, 2.4, (Opening(2.4, 2.0),))
    wall = lay_walls(room, ACROSS)[0]
    assert ends(wall, JointKind.TAPERED) == {(1.2, 2.0, 1.2, 2.4)}


def test_openings_stand_beside_each_other_where_joints_leave_them_no_gap() -> None:
    room = RoomShape(4.8, 3.0, 2.4, (Opening(1.5, 2.0),) * 3)
    wall = lay_walls(room, ALONG)[0]
    assert not overlapping(wall)


def test_a_window_may_stand_above_a_door_on_a_short_wall() -> None:
    room = RoomShape(1.0, 3.0, 3.6, (Opening(0.9, 2.1), Opening(0.9, 0.6, 2.4)))
    wall = lay_walls(room, ALONG)[0]
    assert len(wall.openings) == 2
    assert wall.area_m2 == pytest.approx(3.6 - 0.9 * 2.7)


def test_openings_that_do_not_fit_beside_each_other_are_a_fault() -> None:
    room = RoomShape(4.0, 3.0, 2.4, (Opening(2.5, 0.5), Opening(2.0, 0.5)))
    with pytest.raises(TakeoffError, match="wall 0: openings of"):
        take_off_walls(room, ALONG)


layouts = st.builds(
    BoardLayout, st.sampled_from([0.9, 1.2, 1.35]), st.sampled_from([2.4, 3.0, 6.0]), st.booleans()
)
corners = st.sampled_from([(True, False), (False, True), (False, False)])


@st.composite
def rooms(draw: st.DrawFn, most: int = 1) -> RoomShape:
    """Rooms to the millimetre with up to so many openings in each wall."""
    length_m, width_m = (draw(st.integers(2000, 12000)) / 1000 for _ in range(2))
    height_m = draw(st.integers(2100, 4500)) / 1000
    openings = []
    for wall in range(4):
        wall_mm = round(1000 * (length_m if wall % 2 == 0 else width_m))
        for _ in range(draw(st.integers(0, most))):
            high_mm = draw(st.integers(300, 2000))
            openings.append(
                Opening(
                    draw(st.integers(300, wall_mm // most)) / 1000,
                    high_mm / 1000,
                    draw(st.integers(0, round(1000 * height_m) - high_mm)) / 1000,
                    draw(st.booleans()),
                    wall,
                )
            )
    square_set, cornice = draw(corners)
    return RoomShape(length_m, width_m, height_m, openings, square_set, cornice)


def overlapping(face: Face) -> list[tuple[float, float]]:
    """Where two openings of a wall lie over each other."""
    return [
        (one.left_m, two.left_m)
        for one, two in combinations(face.openings, 2)
        if min(one.right_m, two.right_m) - max(one.left_m, two.left_m) > 1e-6
        and min(one.opening.head_m, two.opening.head_m)
        - max(one.opening.sill_m, two.opening.sill_m)
        > 1e-6
    ]


def lines(size_m: float, spacing_m: float) -> int:
    return max(ceil(size_m / spacing_m - 1e-9) - 1, 0)


def level_m(room: RoomShape, wall: int, spacing_m: float) -> float:
    """Level joints of a wall as the rule says in words, without any layout."""
    total = 0.0
    for line in range(lines(room.height_m, spacing_m)):
        at_m = room.height_m - (line + 1) * spacing_m
        cut_m = [
            o.width_m for o in room.openings_in(wall) if o.sill_m + 1e-9 < at_m < o.head_m - 1e-9
        ]
        total += room.wall_length_m(wall) - sum(cut_m)
    return total


def upright_m(room: RoomShape, wall: int, spacing_m: float) -> float:
    """Upright joints of a wall with at most one opening, in words."""
    count = lines(room.wall_length_m(wall), spacing_m)
    cut_m = sum(
        min(floor(o.width_m / spacing_m + 1e-9), count) * o.height_m for o in room.openings_in(wall)
    )
    return count * room.height_m - cut_m


class TestProperties:
    @given(rooms(), layouts)
    def test_the_drawing_has_the_metres_of_the_rule(
        self, room: RoomShape, layout: BoardLayout
    ) -> None:
        walls = lay_walls(room, layout)
        level, upright = JointKind.TAPERED, JointKind.BUTT
        spacings_m = layout.board_width_m, layout.board_length_m
        if not layout.along:
            level, upright, spacings_m = upright, level, spacings_m[::-1]
        for wall, face in enumerate(walls):
            assert face.metres(level) == pytest.approx(level_m(room, wall, spacings_m[0]), abs=1e-3)
            assert face.metres(upright) == pytest.approx(
                upright_m(room, wall, spacings_m[1]), abs=1e-3
            )
        run_m, stack_m = room.length_m, room.width_m
        if not layout.along:
            run_m, stack_m = stack_m, run_m
        ceiling = lay_ceiling(room, layout)
        rows, butts = lines(stack_m, layout.board_width_m), lines(run_m, layout.board_length_m)
        assert ceiling.metres(JointKind.TAPERED) == pytest.approx(rows * run_m, abs=1e-3)
        assert ceiling.metres(JointKind.BUTT) == pytest.approx(butts * stack_m, abs=1e-3)

    @given(rooms(most=3), layouts)
    def test_what_is_taken_off_is_what_is_drawn(self, room: RoomShape, layout: BoardLayout) -> None:
        try:
            taken = take_off_ceiling(room, layout), take_off_walls(room, layout)
        except TakeoffError:
            return
        for faces, surface in zip(
            ([lay_ceiling(room, layout)], lay_walls(room, layout)), taken, strict=True
        ):
            for kind, length_m in surface.metres.items():
                drawn = [joint for face in faces for joint in face.joints if joint.kind is kind]
                assert sum(one.metres for one in drawn) == pytest.approx(length_m, abs=1e-3)
            assert surface.area_m2 == pytest.approx(sum(face.area_m2 for face in faces))

    @given(rooms(most=3), layouts)
    def test_nothing_lies_outside_a_wall_or_in_an_opening(
        self, room: RoomShape, layout: BoardLayout
    ) -> None:
        try:
            take_off_walls(room, layout)
        except TakeoffError:
            return
        for face in lay_walls(room, layout):
            assert len(face.openings) == len(room.openings_in(face.wall or 0))
            assert not overlapping(face)
            for joint in face.joints:
                assert all(-1e-6 <= x <= face.width_m + 1e-6 for x, _ in (joint.start, joint.end))
                assert all(-1e-6 <= y <= face.height_m + 1e-6 for _, y in (joint.start, joint.end))
                if joint.kind in (JointKind.TAPERED, JointKind.BUTT):
                    assert not any(in_opening(joint, face, share) for share in (0.01, 0.5, 0.99))

    @given(rooms(), layouts)
    def test_boards_cover_a_face_once(self, room: RoomShape, layout: BoardLayout) -> None:
        for face in (lay_ceiling(room, layout), *lay_walls(room, layout)):
            sizes = [
                (b.opposite[0] - b.corner[0], b.opposite[1] - b.corner[1]) for b in face.boards
            ]
            assert sum(wide * high for wide, high in sizes) == pytest.approx(
                face.width_m * face.height_m
            )
            long_m, wide_m = layout.board_length_m + 1e-9, layout.board_width_m + 1e-9
            assert all(min(s) <= wide_m and max(s) <= long_m for s in sizes)


def in_opening(joint: Joint, face: Face, share: float) -> bool:
    """Whether a point of a joint lies inside an opening."""
    x, y = (a + share * (b - a) for a, b in zip(joint.start, joint.end, strict=True))
    return any(placed.spans(x) and placed.reaches(y) for placed in face.openings)
