"""Rooms edited: public ids stay, versions are looked at, quantities are worked out."""

from dataclasses import replace
from typing import Any

import pytest

from finishing.models import Area, Change, Room, Surface, User
from finishing.rules.room_shapes import Opening
from finishing.rules.takeoff import TakeoffError
from finishing.rules.vocabulary import Family, JointKind
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.rooms import RoomEdit, name_faults, put_rooms, room_entry
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
WALLS, CEILING = Surface.Part.WALLS, Surface.Part.CEILING
ROOMS, MEASURED = Surface.Takeoff.ROOMS, Surface.Takeoff.MEASURED


@pytest.fixture
def area() -> Area:
    company = make_company()
    User.objects.create(email="office@example.com", company=company)
    return make_house(company, rooms=("Hall", "Kitchen")).areas.get()


def surface(part: Surface.Part, **fields: Any) -> SurfaceEntry:
    return SurfaceEntry(
        **{"part": part, "family": Family.GA214, "level": "4", "takeoff": ROOMS, **fields}
    )


def entry(name: str, *surfaces: SurfaceEntry, **fields: Any) -> RoomEntry:
    sizes = {"length_m": 4.8, "width_m": 3.6, "height_m": 2.4}
    return RoomEntry(name, surfaces or (surface(CEILING), surface(WALLS)), **{**sizes, **fields})


def put(area: Area, *rooms: RoomEdit) -> None:
    put_rooms(area=area, rooms=rooms, by=User.objects.get(), now=MONDAY)


def edit(room: Room, wanted: RoomEntry | None = None, **more: Any) -> RoomEdit:
    """An edit from a page that was opened just now."""
    seen = {str(one.part): one.version for one in room.surfaces.all()}
    fields = {"version": room.version, "surfaces": seen, **more}
    return RoomEdit("", wanted or room_entry(room), room, **fields)


def names(area: Area) -> list[str]:
    return [room.name for room in Room.objects.filter(area=area)]


def rooms(area: Area) -> tuple[Room, Room]:
    hall, kitchen = Room.objects.filter(area=area)
    return hall, kitchen


def test_a_new_room_has_its_metres_from_its_sizes(area: Area) -> None:
    hall, kitchen = rooms(area)
    put(area, edit(hall, touched=False), edit(kitchen, touched=False), RoomEdit("", entry("Den")))
    den = Room.objects.get(name="Den")
    metres = {
        (line.surface.part, line.kind): line.metres
        for one in den.surfaces.all()
        for line in one.joints.all()
    }
    # By hand in tests/finishing/rules/test_takeoff.py, but for its openings.
    assert metres["ceiling", "tapered"] == 9.6
    assert metres["ceiling", "internal"] == 16.8
    assert metres["walls", "tapered"] == 16.8
    assert den.position == 2
    assert den.company == area.company


def test_a_renamed_room_keeps_its_public_id_and_with_it_what_was_reported(area: Area) -> None:
    hall, kitchen = rooms(area)
    put(area, edit(hall, entry("Entrance")), edit(kitchen, touched=False))
    assert Room.objects.get(name="Entrance").public_id == hall.public_id
    assert (
        Surface.objects.get(room=hall, part="walls").public_id
        == hall.surfaces.get(part="walls").public_id
    )


def test_two_rooms_may_change_their_names_over(area: Area) -> None:
    hall, kitchen = rooms(area)
    put(area, edit(hall, entry("Kitchen")), edit(kitchen, entry("Hall")))
    assert names(area) == ["Kitchen", "Hall"]
    assert Room.objects.get(name="Hall").pk == kitchen.pk


def test_the_order_given_is_the_order_kept(area: Area) -> None:
    hall, kitchen = rooms(area)
    put(area, edit(kitchen, touched=False), edit(hall, touched=False))
    assert names(area) == ["Kitchen", "Hall"]


def test_an_edit_from_a_stale_page_keeps_nothing_of_any_room(area: Area) -> None:
    hall, kitchen = rooms(area)
    opened = edit(Room.objects.get(pk=hall.pk), entry("Hall", length_m=6.0))
    put(area, edit(hall, entry("Hall", length_m=5.0)), edit(kitchen, touched=False))
    with pytest.raises(StaleRowsError) as caught:
        put(area, edit(kitchen, entry("Scullery")), opened)
    assert caught.value.rows == (hall,)
    assert names(area) == ["Hall", "Kitchen"]
    assert Room.objects.get(pk=hall.pk).length_m == 5.0


def test_metres_alone_that_somebody_changed_meanwhile_are_not_overwritten(area: Area) -> None:
    hall, kitchen = rooms(area)
    measured = replace(
        surface(WALLS), takeoff=MEASURED, metres={JointKind.TAPERED: 12.0}, area_m2=30.0
    )
    put(area, edit(hall, entry("Hall", measured)), edit(kitchen, touched=False))
    first, second = (
        edit(
            Room.objects.get(pk=hall.pk),
            entry("Hall", replace(measured, metres={JointKind.TAPERED: metres})),
        )
        for metres in (13.0, 14.0)
    )
    put(area, first)
    with pytest.raises(StaleRowsError):
        put(area, second)
    assert Surface.objects.get(room=hall).joints.get().metres == 13.0


def test_a_surface_that_came_meanwhile_is_not_removed_unseen(area: Area) -> None:
    hall, kitchen = rooms(area)
    opened = edit(hall, entry("Hall", surface(WALLS)))
    put(area, edit(hall, entry("Hall")), edit(kitchen, touched=False))
    with pytest.raises(StaleRowsError):
        put(area, opened)


def test_rooms_that_cannot_be_keep_nothing(area: Area) -> None:
    hall, kitchen = rooms(area)
    wide = (Opening(9.0, 2.0),)
    with pytest.raises(TakeoffError, match="opening 1"):
        put(area, edit(kitchen, entry("Scullery")), edit(hall, entry("Hall", openings=wide)))
    assert names(area) == ["Hall", "Kitchen"]


def test_a_removed_room_goes_with_its_surfaces(area: Area) -> None:
    hall, kitchen = rooms(area)
    put(area, edit(hall, removed=True), edit(kitchen, touched=False))
    assert names(area) == ["Kitchen"]
    assert not Surface.objects.filter(room_id=hall.pk).exists()


def test_one_name_twice_is_a_fault_of_the_second(area: Area) -> None:
    hall, _kitchen = rooms(area)
    new = RoomEdit("new-1", entry("Hall"))
    found = list(name_faults(area, [edit(hall), new]))
    assert [fault.place for fault in found] == ["new-1-name"]
    assert not list(name_faults(area, [edit(hall, removed=True), new]))
    assert [f.place for f in name_faults(area, [RoomEdit("new-1", entry("Kitchen"))])] == [
        "new-1-name"
    ]


def test_what_was_edited_is_on_record(area: Area) -> None:
    hall, kitchen = rooms(area)
    put(area, edit(hall, entry("Hall", surface(WALLS), length_m=5.0)), edit(kitchen, touched=False))
    changes = {change.what: change for change in Change.objects.all()}
    assert changes["room"].fields["length_m"] == [None, 5.0]
    assert changes["room"].place == "Ground floor, Hall"
    assert changes["surface"].fields["takeoff"] == ["measured", "rooms"]
    assert "tapered" in changes["surface"].fields
