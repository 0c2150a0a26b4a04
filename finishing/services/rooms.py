"""Rooms edited one by one or in rows of an area: public ids stay, and with them what crews said.

Each edit names the versions that were looked at; nothing is kept of any where one is stale.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Area, Change, Room, Surface, User
from finishing.rules.room_shapes import Opening
from finishing.rules.vocabulary import Family, JointKind, RoomKind
from finishing.services.errors import Fault
from finishing.services.house_edit import HouseEdit
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.houses import ROOM_FIELDS
from finishing.services.rows import all_or_stale, put_row
from finishing.services.surface_takeoff import taken_off
from finishing.services.surfaces import put_surface

type Versions = Mapping[str, int]
"""By surface part the version that was looked at."""


@dataclass(frozen=True, slots=True)
class RoomEdit:
    """What a room is to be. place: what faults call it. room: None for a new one. touched: whether
    anybody changed it; of others only their turn counts. surfaces: see :data:`Versions`."""

    place: str
    entry: RoomEntry
    room: Room | None = None
    version: int = 1
    surfaces: Versions = field(default_factory=dict)
    touched: bool = True
    removed: bool = False


def room_entry(room: Room) -> RoomEntry:
    """Return a room as it stands; reads its surfaces and their joints."""
    return RoomEntry(
        name=room.name,
        surfaces=tuple(_surface_entry(surface) for surface in room.surfaces.all()),
        kind=RoomKind(room.kind),
        length_m=room.length_m,
        width_m=room.width_m,
        height_m=room.height_m,
        openings=tuple(Opening(**opening) for opening in room.openings),
        edge=Room.Edge(room.edge),
        boards_along=room.boards_along,
    )


def _surface_entry(surface: Surface) -> SurfaceEntry:
    return SurfaceEntry(
        part=Surface.Part(surface.part),
        family=Family(surface.family),
        level=surface.level,
        takeoff=Surface.Takeoff(surface.takeoff),
        metres={JointKind(line.kind): line.metres for line in surface.joints.all()},
        fasteners=surface.fasteners,
        area_m2=surface.area_m2,
        cornice_m=surface.cornice_m,
        critical_light=surface.critical_light,
        wet_area=surface.wet_area,
        tiled_later=surface.tiled_later,
        plastic_beads=surface.plastic_beads,
    )


@transaction.atomic
def put_rooms(*, area: Area, rooms: Sequence[RoomEdit], by: User | None, now: datetime) -> None:
    """Bring an area's rooms in line with the edits, in this order; rooms not named stay behind.

    Quantities are worked out anew from each surface's way of takeoff. Raises StaleRowsError for
    rows that others have changed since, and TakeoffError for rooms that cannot be.
    """
    edit = HouseEdit(area.house, by, now)
    kept = [room for room in rooms if not room.removed]
    removals = [partial(_remove, area, room, edit) for room in rooms if room.removed]
    _free_names(kept)
    all_or_stale(
        [*removals, *(partial(_put, area, room, place, edit) for place, room in enumerate(kept))]
    )


def name_faults(area: Area, rooms: Iterable[RoomEdit]) -> Iterator[Fault]:
    """Yield the rooms of which there would be two of one name in an area."""
    listed = list(rooms)
    ours = [room.room.pk for room in listed if room.room]
    others = Room.objects.filter(company=area.company_id, area=area).exclude(pk__in=ours)
    taken = set(others.values_list("name", flat=True))
    for room in listed:
        if room.removed:
            continue
        if room.entry.name in taken:
            yield Fault(f"{room.place}-name", _("There is another room of this name here."))
        taken.add(room.entry.name)


def _free_names(rooms: Iterable[RoomEdit]) -> None:
    """Give up the names that rooms are to lose first, so that two may change theirs over."""
    for edit in rooms:
        if edit.room and edit.touched and edit.room.name != edit.entry.name:
            as_seen = Room.objects.filter(pk=edit.room.pk, version=edit.version)
            as_seen.update(name=str(edit.room.public_id))


def _put(area: Area, wanted: RoomEdit, position: int, edit: HouseEdit) -> None:
    row = wanted.room
    if row is not None and not wanted.touched:
        put_row(Room, match={"pk": row.pk}, values={"position": position})
        return
    entry = taken_off(wanted.entry, edit.house.company)
    values = {
        "name": entry.name,
        **{name: getattr(entry, name) for name in ROOM_FIELDS},
        "openings": [asdict(opening) for opening in entry.openings],
        "position": position,
    }
    what: Any = {"what": Change.What.ROOM, "place": f"{area.name}, {entry.name}"}
    if row is None:
        row = Room(company=edit.house.company, area=area, **values)
        edit.make(row, names=("name", *ROOM_FIELDS), **what)
    else:
        edit.change(row, version=wanted.version, values=values, **what)
    for part in Surface.Part:
        surface = next((one for one in entry.surfaces if one.part == part), None)
        put_surface(area, row, part, surface, seen=wanted.surfaces.get(part), edit=edit)


def _remove(area: Area, wanted: RoomEdit, edit: HouseEdit) -> None:
    row = wanted.room
    if row is not None:
        edit.remove(
            row,
            version=wanted.version,
            what=Change.What.ROOM,
            place=f"{area.name}, {row.name}",
            names=("name", *ROOM_FIELDS),
        )
