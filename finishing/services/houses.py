"""Writing a house. Areas, rooms and surfaces keep their public ids as long as their names stay."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict

from django.db import transaction

from finishing.models import Area, CoatDone, Company, House, JointLine, Room, Surface
from finishing.models.owned import Row
from finishing.rules.vocabulary import Heating
from finishing.services.house_entries import (
    AreaEntry,
    HouseEntry,
    RoomEntry,
    SurfaceEntry,
)
from finishing.services.many_rows import Wanted, put_only, put_rows

type Pairs[R: Row, E] = Sequence[tuple[R, E]]
"""Rows, each with the entry that it was brought in line with."""

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
def put_houses(*, company: Company, houses: Sequence[HouseEntry]) -> list[House]:
    """Make houses, or bring those of the same names in line with the entries, whole or not at all.

    Areas, rooms, surfaces and joint lines that their entries do not name are deleted. It takes a
    few statements a model, however many rows there are. Raises ValidationError.
    """
    named = House.objects.filter(company=company, name__in=[house.name for house in houses])
    rows = put_rows(named, [_wanted_house(company, house) for house in houses])
    areas = _put_areas(company, rows, zip(rows, houses, strict=True))
    _put_coats_done(company, rows, areas)
    rooms = _put_rooms(company, rows, areas)
    surfaces = _put_surfaces(company, rows, rooms)
    _put_joints(company, rows, surfaces)
    return rows


def _wanted_house(company: Company, house: HouseEntry) -> Wanted:
    heating = Heating.UNHEATED if house.setpoint_c is None else Heating.HEATED
    values = {**_fields(house, HOUSE_FIELDS), "heating": heating}
    return Wanted({"company": company, "name": house.name}, values)


def _put_areas(
    company: Company, houses: Sequence[House], entries: Iterable[tuple[House, HouseEntry]]
) -> Pairs[Area, AreaEntry]:
    areas = [(row, area, place) for row, one in entries for place, area in enumerate(one.areas)]
    wanted = [
        Wanted(
            {"company": company, "house": row, "name": area.name},
            {**_fields(area, ("floor", "handover_on", "system")), "position": place},
        )
        for row, area, place in areas
    ]
    rows = put_only(Area.objects.filter(house__in=houses), wanted)
    return [(row, area) for row, (_, area, _) in zip(rows, areas, strict=True)]


def _put_coats_done(
    company: Company, houses: Sequence[House], areas: Pairs[Area, AreaEntry]
) -> None:
    wanted = [
        Wanted(
            {"company": company, "area": row},
            _fields(area.coat_done, ("stage", "compound", "ended_at", "done_by")),
        )
        for row, area in areas
        if area.coat_done
    ]
    put_only(CoatDone.objects.filter(area__house__in=houses), wanted)


def _put_rooms(
    company: Company, houses: Sequence[House], areas: Pairs[Area, AreaEntry]
) -> Pairs[Room, RoomEntry]:
    rooms = [(row, room, place) for row, one in areas for place, room in enumerate(one.rooms)]
    wanted = [
        Wanted(
            {"company": company, "area": row, "name": room.name},
            {
                **_fields(room, ROOM_FIELDS),
                "openings": [asdict(opening) for opening in room.openings],
                "position": place,
            },
        )
        for row, room, place in rooms
    ]
    rows = put_only(Room.objects.filter(area__house__in=houses), wanted)
    return [(row, room) for row, (_, room, _) in zip(rows, rooms, strict=True)]


def _put_surfaces(
    company: Company, houses: Sequence[House], rooms: Pairs[Room, RoomEntry]
) -> Pairs[Surface, SurfaceEntry]:
    surfaces = [(row, surface) for row, room in rooms for surface in room.surfaces]
    wanted = [
        Wanted(
            {"company": company, "room": row, "part": surface.part},
            _fields(surface, SURFACE_FIELDS),
        )
        for row, surface in surfaces
    ]
    rows = put_only(Surface.objects.filter(room__area__house__in=houses), wanted)
    return [(row, surface) for row, (_, surface) in zip(rows, surfaces, strict=True)]


def _put_joints(
    company: Company, houses: Sequence[House], surfaces: Pairs[Surface, SurfaceEntry]
) -> None:
    wanted = [
        Wanted({"company": company, "surface": row, "kind": kind}, {"metres": metres})
        for row, surface in surfaces
        for kind, metres in surface.metres.items()
        if metres > 0
    ]
    put_only(JointLine.objects.filter(surface__room__area__house__in=houses), wanted)


def _fields(entry: object, names: Iterable[str]) -> dict[str, object]:
    return {name: getattr(entry, name) for name in names}
