"""One room of an area added, edited, moved or removed; the others stay in their order."""

from datetime import datetime

from django.db import transaction

from finishing.models import Area, Room, User
from finishing.services.errors import InputFaults
from finishing.services.house_entries import RoomEntry
from finishing.services.rooms import RoomEdit, name_faults, put_rooms, room_entry


@transaction.atomic
def add_room(
    *, area: Area, entry: RoomEntry, by: User | None, now: datetime, position: int | None = None
) -> Room:
    """Add a room, the last one where no position (from 0) is given. Raises InputFaults (place:
    ``-name``) and TakeoffError."""
    _put(area, RoomEdit("", entry), position, by, now)
    return Room.objects.get(area=area, name=entry.name)


@transaction.atomic
def edit_room(
    *,
    room: Room,
    version: int,
    entry: RoomEntry,
    by: User | None,
    now: datetime,
    position: int | None = None,
) -> None:
    """Make a room what an entry says; it stays in its place where no position is given.

    version: of the room; its surfaces as they were read with it count as those that were looked
    at. Raises as :func:`add_room` does, and StaleRowsError.
    """
    if position is None:
        position = [one.pk for one in room.area.rooms.all()].index(room.pk)
    _put(room.area, RoomEdit("", entry, room, version, _seen(room)), position, by, now)


@transaction.atomic
def remove_room(*, room: Room, version: int, by: User | None, now: datetime) -> None:
    """Remove a room with its surfaces. Raises StaleRowsError."""
    going = RoomEdit("", room_entry(room), room, version, _seen(room), removed=True)
    _put(room.area, going, None, by, now)


def _put(
    area: Area, wanted: RoomEdit, position: int | None, by: User | None, now: datetime
) -> None:
    if faults := list(name_faults(area, [wanted])):
        raise InputFaults(faults)
    rooms = area.rooms.prefetch_related("surfaces__joints")
    others = rooms.exclude(pk=wanted.room.pk) if wanted.room else rooms
    edits = [RoomEdit("", room_entry(room), room, touched=False) for room in others]
    at = len(edits) if position is None else position
    put_rooms(area=area, rooms=[*edits[:at], wanted, *edits[at:]], by=by, now=now)


def _seen(room: Room) -> dict[str, int]:
    return {surface.part: surface.version for surface in room.surfaces.all()}
