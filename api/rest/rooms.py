"""/api/v1/rooms/: rooms with their openings, surfaces and what was taken off them."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, Number, OwnRelated, Text, Whole, YesNo
from api.rest.query import Listing
from api.rest.room_faults import takeoff_faults
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer, Strict
from api.rest.surfaces import SurfaceSerializer, surface_entry
from finishing.models import Area, Change, Room
from finishing.rules.room_shapes import Opening
from finishing.rules.vocabulary import RoomKind
from finishing.services.errors import Fault
from finishing.services.house_entries import RoomEntry
from finishing.services.one_room import add_room, edit_room, remove_room
from finishing.services.rooms import RoomEdit, name_faults, room_entry
from finishing.services.rows import version_of

LAST = 9_999
MOST_OPENINGS = 40


def _size(most: int) -> Number:
    return Number(min_value=0.01, max_value=most, required=False, allow_null=True)


class OpeningSerializer(Strict):
    """A door or window. wall: 0 and 2 lie along the room's length, 1 and 3 across."""

    width_m = Number(min_value=0.01, max_value=100)
    height_m = Number(min_value=0.01, max_value=30)
    sill_m = Number(min_value=0, max_value=30, default=0.0)
    lined = YesNo(default=False, help_text="with board, so that its edges have beads")
    wall = Whole(min_value=0, max_value=3, default=0)


class RoomSerializer(RowSerializer[Room]):
    area = OwnRelated(Area, help_text="stays")
    name = Text(max_length=120)
    kind = Choice([kind.value for kind in RoomKind], required=False)
    position = Whole(min_value=0, max_value=LAST, required=False, help_text="from 0; others follow")
    length_m = _size(100)
    width_m = _size(100)
    height_m = _size(30)
    openings = OpeningSerializer(  # type: ignore[call-arg]
        many=True, required=False, max_length=MOST_OPENINGS
    )
    edge = Choice(Room.Edge.values, required=False, help_text="of walls and ceiling")
    boards_along = YesNo(required=False, help_text="boards laid along the room, walls horizontal")
    surfaces = SurfaceSerializer(  # type: ignore[call-arg]
        many=True, required=False, max_length=2, help_text="all that it is to have"
    )

    fixed = ("area",)

    def version(self, row: Room) -> int:
        return version_of([row, *row.surfaces.all()])

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        area = self.instance.area if self.instance else values.get("area")
        if area is None:
            return
        entry = entry_of(values, self.instance)
        if "name" in values:
            edit = RoomEdit("", entry, self.instance)
            yield from (replace(one, place="name") for one in name_faults(area, [edit]))
        stands = room_entry(self.instance) if self.instance else None
        yield from takeoff_faults(entry, self.context["company"], stands=stands)


def entry_of(values: Mapping[str, Any], room: Room | None) -> RoomEntry:
    """Return a room as it is to be: as it stands, with the values over it."""
    stands = room_entry(room) if room else RoomEntry(name="", surfaces=())
    said = {name: value for name, value in values.items() if name not in {"area", "position"}}
    if "openings" in said:
        said["openings"] = tuple(Opening(**one) for one in said["openings"])
    if "surfaces" in said:
        said["surfaces"] = tuple(surface_entry(one) for one in said["surfaces"])
    return replace(stands, **said)


class RoomListing(Listing):
    area = serializers.UUIDField(required=False, source="area__public_id")
    house = serializers.UUIDField(required=False, source="area__house__public_id")


class Rooms(Editable[Room]):
    """Rooms of areas, in their order."""

    model = Room
    lookup_value_converter = "room"
    logged_as = (Change.What.ROOM,)
    serializer_class = RoomSerializer
    query = RoomListing
    related = ("area__house__company",)
    prefetched = ("surfaces__joints",)

    def make(self, values: Mapping[str, Any]) -> Room:
        return add_room(
            area=values["area"],
            entry=entry_of(values, None),
            position=values.get("position"),
            by=self.who(),
            now=self.now(),
        )

    def edit(self, row: Room, values: Mapping[str, Any]) -> None:
        edit_room(
            room=row,
            version=row.version,
            entry=entry_of(values, row),
            position=values.get("position"),
            by=self.who(),
            now=self.now(),
        )

    def remove(self, row: Room) -> None:
        remove_room(room=row, version=row.version, by=self.who(), now=self.now())
