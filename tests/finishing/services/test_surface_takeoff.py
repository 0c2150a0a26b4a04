"""Quantities of a room's surfaces by each way of taking them off."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import Company, Room, Surface
from finishing.rules.room_shapes import Opening
from finishing.rules.takeoff import TakeoffError
from finishing.rules.vocabulary import Family, JointKind
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.opening_text import opening_text, read_openings
from finishing.services.surface_takeoff import room_faces, taken_off

COMPANY = Company(name="Test Finishing")
CEILING, WALLS = Surface.Part
ROOMS, MEASURED, ROUGH = Surface.Takeoff.ROOMS, Surface.Takeoff.MEASURED, Surface.Takeoff.ROUGH


def surface(part: Surface.Part, way: Surface.Takeoff, **fields: Any) -> SurfaceEntry:
    return SurfaceEntry(
        **{"part": part, "family": Family.GA214, "level": "4", "takeoff": way, **fields}
    )


def room(*surfaces: SurfaceEntry, **fields: Any) -> RoomEntry:
    sizes = {"length_m": 4.8, "width_m": 3.6, "height_m": 2.4}
    return RoomEntry("Hall", surfaces, **{**sizes, **fields})


def counted(*surfaces: SurfaceEntry, **fields: Any) -> SurfaceEntry:
    return taken_off(room(*surfaces, **fields), COMPANY).surfaces[0]


def test_what_is_drawn_is_what_is_counted() -> None:
    entry = room(surface(CEILING, ROOMS), surface(WALLS, ROOMS), openings=(Opening(0.9, 2.1),))
    faces = room_faces(entry, COMPANY)
    done = taken_off(entry, COMPANY)
    assert [face.wall for face in faces] == [None, 0, 1, 2, 3]
    for kind in (JointKind.TAPERED, JointKind.BUTT, JointKind.INTERNAL):
        drawn = sum(face.metres(kind) for face in faces)
        assert drawn == pytest.approx(sum(one.metres[kind] for one in done.surfaces), abs=0.01)


def test_without_sizes_nothing_is_drawn() -> None:
    assert room_faces(room(surface(WALLS, ROUGH), height_m=None), COMPANY) == []


def test_measured_figures_stay_and_their_board_comes_from_the_sizes() -> None:
    walls = counted(surface(WALLS, MEASURED, metres={JointKind.TAPERED: 7.0}, fasteners=50))
    assert dict(walls.metres) == {JointKind.TAPERED: 7.0}
    assert (walls.fasteners, walls.area_m2) == (50, 40.32)  # 16.8 m x 2.4 m


def test_a_rough_takeoff_counts_from_its_board_alone() -> None:
    walls = counted(surface(WALLS, ROUGH, area_m2=100.0), height_m=None)
    # 1.25 m of tape a m2, 0.6 of it flat: Peterson and Dagostino, see rules/room_shapes.py.
    assert walls.metres[JointKind.TAPERED] == 75.0
    assert counted(surface(WALLS, ROUGH), height_m=None).metres == {}


@pytest.mark.parametrize(
    ("entry", "fault"),
    [
        (room(surface(WALLS, ROOMS), length_m=None, width_m=None), "length_m and width_m"),
        (room(surface(WALLS, MEASURED, level="5"), height_m=None), "give its m2"),
        (room(surface(WALLS, MEASURED), openings=(Opening(9, 2),)), "opening 1, width_m"),
        (
            room(
                surface(CEILING, MEASURED, metres={JointKind.INTERNAL: 16.8}),
                edge=Room.Edge.CORNICE,
            ),
            "counted twice",
        ),
        (room(surface(CEILING, MEASURED, area_m2=9.0, cornice_m=3.0)), "only on a ceiling"),
    ],
)
def test_what_cannot_be_is_named(entry: RoomEntry, fault: str) -> None:
    with pytest.raises(TakeoffError, match=fault):
        taken_off(entry, COMPANY)


tenths = st.integers(1, 60).map(lambda n: n / 20)


@given(
    st.lists(
        st.builds(
            Opening,
            tenths,
            tenths,
            st.integers(0, 30).map(lambda n: n / 20),
            st.booleans(),
            st.integers(0, 3),
        ),
        max_size=4,
    )
)
def test_openings_are_written_as_they_are_read(openings: list[Opening]) -> None:
    assert list(read_openings(opening_text(openings))) == openings
