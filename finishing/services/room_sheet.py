"""The rooms of houses.csv and their surfaces."""

from dataclasses import replace

from finishing.models import Company, Room, Surface
from finishing.rules.levels import LevelCoats, UnknownLevel, coats_for
from finishing.rules.room_shapes import Opening
from finishing.rules.vocabulary import Family, RoomKind
from finishing.services.cells import Cells, gathered
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.opening_text import read_openings
from finishing.services.surface_takeoff import Quantities
from finishing.services.takeoff_sheet import TAKEOFF_COLUMNS, quantities_of, typed_quantities

ROOM_COLUMNS = ("kind", "length_m", "width_m", "height_m", "edge", "boards", "openings")
SURFACE_COLUMNS = (
    "surface",
    "family",
    "level",
    *TAKEOFF_COLUMNS,
    "critical_light",
    "wet_area",
    "tiled_later",
    "plastic_beads",
)


def read_room(name: str, rows: list[Cells], company: Company) -> RoomEntry:
    """Read a room from its rows; what is wrong is noted on the sheet."""
    cells = gathered(rows, ROOM_COLUMNS)
    room = RoomEntry(
        name=name,
        surfaces=(),
        kind=cells.choice("kind", RoomKind) or RoomKind.ROOM,
        length_m=cells.number("length_m", above=0, most=100),
        width_m=cells.number("width_m", above=0, most=100),
        height_m=cells.number("height_m", above=0, most=30),
        openings=_openings(cells),
        edge=cells.choice("edge", Room.Edge) or Room.Edge.SQUARE_SET,
        boards_along=_boards_along(cells),
    )
    surfaces: dict[Surface.Part, SurfaceEntry] = {}
    lines: dict[Surface.Part, int] = {}
    for row in rows:
        part = _part(row)
        if part in lines:
            row.fault("surface", f"{part} of {name!r} is already on {row.sheet.nth(lines[part])}")
        surface = _surface(row, part, room, company)
        if part is not None and part not in lines:
            lines[part], surfaces[part] = row.line, surface
    return replace(room, surfaces=tuple(surfaces.values()))


def _part(cells: Cells) -> Surface.Part | None:
    cells.required("surface")
    return cells.choice("surface", Surface.Part)


def _surface(
    cells: Cells, part: Surface.Part | None, room: RoomEntry, company: Company
) -> SurfaceEntry:
    """Read a surface. Where it is not known which, that is for the sake of the faults of its other
    cells, and what comes of it stands for nothing."""
    family = cells.choice("family", Family) or Family(company.family)
    level = cells.text("level") if part is None else cells.required("level")
    coats = _coats(cells, family, level)
    if part is None:
        typed_quantities(cells)
        found = Quantities(Surface.Takeoff.MEASURED)
    else:
        found = quantities_of(cells, part=part, room=room, coats=coats, company=company)
    return SurfaceEntry(
        part=part or Surface.Part.WALLS,
        family=family,
        level=level,
        takeoff=found.takeoff,
        metres=found.metres,
        fasteners=found.fasteners,
        area_m2=found.area_m2,
        cornice_m=found.cornice_m,
        critical_light=bool(cells.yes("critical_light")),
        wet_area=bool(cells.yes("wet_area")),
        tiled_later=bool(cells.yes("tiled_later")),
        plastic_beads=bool(cells.yes("plastic_beads")),
    )


def _coats(cells: Cells, family: Family, level: str) -> LevelCoats | None:
    try:
        return coats_for(family, level) if level else None
    except UnknownLevel as error:
        cells.fault("level", str(error))
        return None


def _openings(cells: Cells) -> tuple[Opening, ...]:
    try:
        return read_openings(cells.text("openings", longest=500))
    except ValueError as error:
        cells.fault("openings", str(error))
        return ()


def _boards_along(cells: Cells) -> bool:
    text = cells.text("boards").lower()
    if text not in {"", "along", "across"}:
        cells.fault("boards", f"{text!r} is neither along nor across")
    return text != "across"
