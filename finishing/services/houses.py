"""Writing a house. Areas, rooms and surfaces keep their public ids as long as their names stay."""

from collections.abc import Iterable
from dataclasses import asdict

from django.db import transaction

from finishing.models import Area, CoatDone, Company, House, JointLine, Room, Surface
from finishing.rules.vocabulary import Heating
from finishing.services.house_entries import (
    AreaEntry,
    CoatDoneEntry,
    HouseEntry,
    RoomEntry,
    SurfaceEntry,
)
from finishing.services.rows import delete_others, put_row

HOUSE_FIELDS = (
    "zone",
    "handover_on",
    "address",
    "latitude",
    "longitude",
    "opens_on",
    "weight",
    "access",
    "setpoint_c",
    "heated_from",
    "heat_kw",
    "is_open",
    "closed_from",
    "volume_m3",
    "air_changes_per_h",
    "flame_heater",
    "old_joints",
    "fire_rated",
    "air_source",
    "corner_tool",
    "system",
)
ROOM_FIELDS = ("kind", "length_m", "width_m", "height_m", "edge", "boards_along")
SURFACE_FIELDS = (
    "family",
    "level",
    "takeoff",
    "fasteners",
    "area_m2",
    "cornice_m",
    "critical_light",
    "wet_area",
    "tiled_later",
    "plastic_beads",
)


@transaction.atomic
def put_house(*, company: Company, house: HouseEntry) -> House:
    """Make the house or bring the one of the same name in line with the entry.

    Areas, rooms, surfaces and joint lines that the entry does not name are deleted.
    """
    heating = Heating.UNHEATED if house.setpoint_c is None else Heating.HEATED
    row = put_row(
        House,
        match={"company": company, "name": house.name},
        values={**_fields(house, HOUSE_FIELDS), "heating": heating},
    )
    kept = [_put_area(row, area, place) for place, area in enumerate(house.areas)]
    delete_others(row.areas.all(), kept)
    return row


def _put_area(house: House, area: AreaEntry, position: int) -> Area:
    values = _fields(area, ("floor", "handover_on", "system"))
    row = put_row(
        Area,
        match={"company": house.company, "house": house, "name": area.name},
        values={**values, "position": position},
    )
    kept = [_put_room(row, room, place) for place, room in enumerate(area.rooms)]
    delete_others(row.rooms.all(), kept)
    _put_coat_done(row, area.coat_done)
    return row


def _put_room(area: Area, room: RoomEntry, position: int) -> Room:
    openings = [asdict(opening) for opening in room.openings]
    row = put_row(
        Room,
        match={"company": area.company, "area": area, "name": room.name},
        values={**_fields(room, ROOM_FIELDS), "openings": openings, "position": position},
    )
    kept = [_put_surface(row, surface) for surface in room.surfaces]
    delete_others(row.surfaces.all(), kept)
    return row


def _put_surface(room: Room, surface: SurfaceEntry) -> Surface:
    row = put_row(
        Surface,
        match={"company": room.company, "room": room, "part": surface.part},
        values=_fields(surface, SURFACE_FIELDS),
    )
    kept = [
        put_row(
            JointLine,
            match={"company": room.company, "surface": row, "kind": kind},
            values={"metres": metres},
        )
        for kind, metres in surface.metres.items()
        if metres > 0
    ]
    delete_others(row.joints.all(), kept)
    return row


def _put_coat_done(area: Area, coat: CoatDoneEntry | None) -> None:
    if coat is None:
        CoatDone.objects.filter(area=area).delete()
        return
    put_row(
        CoatDone,
        match={"company": area.company, "area": area},
        values=_fields(coat, ("stage", "compound", "ended_at", "done_by")),
    )


def _fields(entry: object, names: Iterable[str]) -> dict[str, object]:
    return {name: getattr(entry, name) for name in names}
