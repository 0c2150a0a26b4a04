"""houses.csv: a row for the ceiling and one for the walls of each room.

House, area and room cells may stay blank: then they are those of the row above. What belongs to
a house, an area or a room is written once, on any of its rows (or the same on each). A row with
only a house and its own columns, above the rows of its areas, is allowed.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from finishing.models.house import AIR_CHANGES_PER_H, LIMITS
from finishing.rules.hours import HoursError, parse_hours
from finishing.rules.vocabulary import CornerTool, Shell, Stage
from finishing.services.cells import Cells, cells_of_row, gathered
from finishing.services.csv_files import Sheet
from finishing.services.house_entries import AreaEntry, CoatDoneEntry, HouseEntry, RoomEntry
from finishing.services.local_times import LocalTimeError, read_local, utc_of
from finishing.services.room_sheet import ROOM_COLUMNS, SURFACE_COLUMNS, read_room
from finishing.services.sheet_lookups import Lookups, named_in, zone_in
from finishing.services.sheets import Content, read_sheet

HOUSE_COLUMNS = (
    "handover",
    "address",
    "zone",
    "latitude",
    "longitude",
    "opens",
    "weight",
    "access",
    "heated_to_c",
    "heated_from",
    "heater_kw",
    "shell",
    "closed_from",
    "volume_m3",
    "air_changes",
    "air",
    "system",
    "corner_tool",
    "old_joints",
    "fire_rated",
    "flame_heater",
)
AREA_COLUMNS = (
    "floor",
    "area_handover",
    "area_system",
    "last_stage",
    "last_compound",
    "last_ended",
    "last_by",
)
REQUIRED = ("house", "handover", "area", "room", "surface", "level")
OPTIONAL = tuple(
    column
    for column in HOUSE_COLUMNS + AREA_COLUMNS + ROOM_COLUMNS + SURFACE_COLUMNS
    if column not in REQUIRED
)


@dataclass(slots=True)
class _Outline:
    """The rows of each house, area and room, in the order of the file."""

    houses: dict[str, list[Cells]]
    areas: dict[tuple[str, str], list[Cells]]
    rooms: dict[tuple[str, str, str], list[Cells]]


def read_houses(*, name: str, content: Content, lookups: Lookups) -> tuple[HouseEntry, ...]:
    """Read the houses of a file; raise InputFaults with all that is wrong in it."""
    sheet = read_sheet(name=name, content=content, required=REQUIRED, optional=OPTIONAL)
    outline = _outline(sheet)
    houses = [_house(outline, house, rows, lookups) for house, rows in outline.houses.items()]
    sheet.raise_faults()
    return tuple(house for house in houses if house is not None)


def _outline(sheet: Sheet) -> _Outline:
    """Return which rows are of what. Rows of something without a name go together too, so that all
    of their faults are found."""
    outline = _Outline({}, {}, {})
    above = ("", "", "")
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        house = cells.text("house") or above[0]
        area = cells.text("area") or (above[1] if house == above[0] else "")
        same_area = (house, area) == above[:2]
        room = cells.text("room") or (above[2] if same_area else "")
        above = (house, area, room)
        if not house:
            cells.fault("house", "the first row must name its house")
        outline.houses.setdefault(house, []).append(cells)
        if any(row.get(column) for column in ("area", "room", *SURFACE_COLUMNS)):
            _place_row(outline, cells, above)
    return outline


def _place_row(outline: _Outline, cells: Cells, where: tuple[str, str, str]) -> None:
    house, area, room = where
    if not area:
        cells.fault("area", "the first row of a house must name its area")
    elif not room:
        cells.fault("room", "the first row of an area must name its room")
    outline.areas.setdefault((house, area), []).append(cells)
    outline.rooms.setdefault(where, []).append(cells)


def _house(outline: _Outline, name: str, rows: list[Cells], lookups: Lookups) -> HouseEntry | None:
    cells = gathered(rows, HOUSE_COLUMNS)
    _check_house(cells)
    zone = zone_in(cells, default=lookups.company.zone)
    opens_on, handover_on = cells.day("opens"), cells.day("handover")
    _check_days(cells, "handover", opens_on, handover_on)
    areas = [
        _area(outline, (name, area), area_rows, lookups, zone=zone, opens_on=opens_on)
        for (house, area), area_rows in outline.areas.items()
        if house == name
    ]
    if name and not areas:
        cells.fault("area", f"house {name!r} has no areas")
    shell = _shell(cells)
    weight = cells.whole("weight", least=1)
    air_changes = _figure(cells, "air_changes", "air_changes_per_h")
    corner_tool = cells.choice("corner_tool", CornerTool)
    entry = HouseEntry(
        name=name,
        zone=zone,
        handover_on=handover_on or date.max,
        areas=tuple(areas),
        address=cells.text("address", longest=250),
        latitude=_figure(cells, "latitude", "latitude"),
        longitude=_figure(cells, "longitude", "longitude"),
        opens_on=opens_on,
        weight=1 if weight is None else weight,
        access=_access(cells),
        setpoint_c=_figure(cells, "heated_to_c", "setpoint_c"),
        heated_from=cells.day("heated_from"),
        heat_kw=_figure(cells, "heater_kw", "heat_kw"),
        is_open=shell == Shell.OPEN,
        closed_from=cells.day("closed_from"),
        volume_m3=_figure(cells, "volume_m3", "volume_m3"),
        air_changes_per_h=AIR_CHANGES_PER_H if air_changes is None else air_changes,
        flame_heater=bool(cells.yes("flame_heater")),
        old_joints=bool(cells.yes("old_joints")),
        fire_rated=bool(cells.yes("fire_rated")),
        air_source=named_in(
            cells, "air", lookups.air_sources, empty="none yet, import its air first"
        ),
        corner_tool=corner_tool or CornerTool.FLAT_KNIFE,
        system=named_in(cells, "system", lookups.systems),
    )
    # without a day the entry stands for nothing: it was read for the sake of its faults
    return entry if handover_on else None


def _figure(cells: Cells, column: str, field: str) -> float | None:
    least, most = LIMITS[field]
    return cells.number(column, least=least, most=most)


def _check_house(cells: Cells) -> None:
    cells.required("handover")
    if bool(cells.text("latitude")) != bool(cells.text("longitude")):
        missing = "longitude" if cells.text("latitude") else "latitude"
        cells.fault(missing, "latitude and longitude go together")


def _shell(cells: Cells) -> Shell | None:
    """Read whether the house is open, and expect columns of its air only where the ones they go
    with are filled in."""
    shell = cells.choice("shell", Shell)
    if cells.text("closed_from") and shell != Shell.OPEN:
        cells.fault("closed_from", "only where shell says that the house is open until then")
    for column in ("heated_from", "heater_kw"):
        if cells.text(column) and not cells.text("heated_to_c"):
            cells.fault(column, "only where heated_to_c says how warm the house is held")
    return shell


def _check_days(cells: Cells, column: str, opens_on: date | None, handover_on: date | None) -> None:
    if opens_on and handover_on and handover_on < opens_on:
        cells.fault(column, f"{handover_on} is before the house opens on {opens_on}")


def _access(cells: Cells) -> str:
    text = cells.text("access", longest=200)
    try:
        parse_hours(text)
    except HoursError as error:
        for fault in error.faults:
            cells.fault("access", fault)
    return text


def _area(
    outline: _Outline,
    key: tuple[str, str],
    rows: list[Cells],
    lookups: Lookups,
    *,
    zone: str,
    opens_on: date | None,
) -> AreaEntry:
    cells = gathered(rows, AREA_COLUMNS)
    handover_on = cells.day("area_handover")
    _check_days(cells, "area_handover", opens_on, handover_on)
    return AreaEntry(
        name=key[1],
        rooms=tuple(_rooms(outline, key, lookups)),
        floor=cells.text("floor", longest=60),
        handover_on=handover_on,
        system=named_in(cells, "area_system", lookups.systems),
        coat_done=_coat_done(cells, lookups, ZoneInfo(zone)),
    )


def _rooms(outline: _Outline, key: tuple[str, str], lookups: Lookups) -> Iterable[RoomEntry]:
    for (house, area, room), rows in outline.rooms.items():
        if (house, area) == key:
            yield read_room(room, rows, lookups.company)


def _coat_done(cells: Cells, lookups: Lookups, zone: ZoneInfo) -> CoatDoneEntry | None:
    stage = cells.choice("last_stage", Stage)
    compound = named_in(cells, "last_compound", lookups.compounds)
    if not cells.text("last_stage"):
        for column in ("last_compound", "last_ended", "last_by"):
            if cells.text(column):
                cells.fault(column, "only where last_stage says how far the area is")
        return None
    ended_at, done_by = _ended_at(cells, zone), cells.text("last_by")
    if stage and compound is not None and stage not in compound.stages:
        cells.fault("last_compound", f"{compound.name!r} is not for the stage {stage}")
    if stage is None or ended_at is None:
        return None
    return CoatDoneEntry(stage, ended_at, compound, done_by)


def _ended_at(cells: Cells, zone: ZoneInfo) -> datetime | None:
    text = cells.required("last_ended")
    try:
        return utc_of(read_local(text), zone) if text else None
    except LocalTimeError as error:
        cells.fault("last_ended", str(error))
        return None
