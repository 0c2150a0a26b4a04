"""The quantities of a surface in houses.csv: measured, from the room's sizes, or rough."""

from dataclasses import dataclass, field

from finishing.models import Company, Room, Surface
from finishing.rules.levels import LevelCoats
from finishing.rules.room_shapes import BoardLayout, RoomShape, RoughAverages, SurfaceTakeoff
from finishing.rules.takeoff import rough_takeoff, take_off_ceiling, take_off_walls
from finishing.rules.takeoff_faults import TakeoffError
from finishing.rules.vocabulary import JointKind
from finishing.services.cells import Cells
from finishing.services.house_entries import RoomEntry

METRE_COLUMNS = {
    "tapered_m": JointKind.TAPERED,
    "butt_m": JointKind.BUTT,
    "internal_m": JointKind.INTERNAL,
    "external_m": JointKind.EXTERNAL,
}
MEASURED_COLUMNS = (*METRE_COLUMNS, "fasteners")
MOST = 10_000.0
"""Metres or m2 of one surface: beyond, a decimal point is missing."""
TAKEOFF_COLUMNS = ("takeoff", *MEASURED_COLUMNS, "area_m2", "cornice_m")


@dataclass(frozen=True, slots=True)
class Quantities:
    """What there is to coat on a surface, and how it was found out."""

    takeoff: Surface.Takeoff
    metres: dict[JointKind, float] = field(default_factory=dict)
    fasteners: int = 0
    area_m2: float = 0.0
    cornice_m: float = 0.0


def quantities_of(
    cells: Cells, *, part: Surface.Part, room: RoomEntry, coats: LevelCoats | None, company: Company
) -> Quantities:
    """Read or work out a surface's quantities; what is wrong is noted on the sheet."""
    takeoff = _takeoff(cells, room)
    try:
        if takeoff is Surface.Takeoff.MEASURED:
            return _measured(cells, part, room, coats, company)
        for column in filter(cells.text, MEASURED_COLUMNS):
            cells.fault(column, f"is measured, but takeoff says {takeoff}")
        if takeoff is Surface.Takeoff.ROOMS:
            return _quantities(takeoff, _from_rooms(part, room, company))
        return _rough(cells, company)
    except TakeoffError as error:
        for fault in error.faults:
            cells.fault("takeoff", fault)
    return Quantities(takeoff)


def _takeoff(cells: Cells, room: RoomEntry) -> Surface.Takeoff:
    named = cells.choice("takeoff", Surface.Takeoff)
    if named is not None:
        return named
    if any(cells.text(column) for column in MEASURED_COLUMNS):
        return Surface.Takeoff.MEASURED
    return Surface.Takeoff.ROOMS if _has_sizes(room) else Surface.Takeoff.ROUGH


def _has_sizes(room: RoomEntry) -> bool:
    return None not in (room.length_m, room.width_m, room.height_m)


def _from_rooms(part: Surface.Part, room: RoomEntry, company: Company) -> SurfaceTakeoff:
    missing = [n for n in ("length_m", "width_m", "height_m") if getattr(room, n) is None]
    if missing:
        raise TakeoffError([f"from the room's sizes, but {' and '.join(missing)} is not given"])
    shape = RoomShape(
        length_m=room.length_m or 0,
        width_m=room.width_m or 0,
        height_m=room.height_m or 0,
        openings=room.openings,
        square_set=room.edge is Room.Edge.SQUARE_SET,
        cornice=room.edge is Room.Edge.CORNICE,
    )
    layout = BoardLayout(company.board_width_m, company.board_length_m, room.boards_along)
    take_off = take_off_ceiling if part is Surface.Part.CEILING else take_off_walls
    return take_off(shape, layout)


def _rough(cells: Cells, company: Company) -> Quantities:
    area_m2 = cells.number("area_m2", above=0, most=MOST)
    if area_m2 is None:
        if not cells.text("area_m2"):
            cells.fault("area_m2", "nothing to take off: give metres, room sizes or area_m2")
        return Quantities(Surface.Takeoff.ROUGH)
    averages = RoughAverages(tape_m_per_m2=company.tape_m_per_m2)
    return _quantities(Surface.Takeoff.ROUGH, rough_takeoff(area_m2, averages))


def _quantities(takeoff: Surface.Takeoff, found: SurfaceTakeoff) -> Quantities:
    metres = {kind: round(value, 2) for kind, value in found.metres.items()}
    return Quantities(
        takeoff, metres, found.fasteners, round(found.area_m2, 2), round(found.cornice_m, 2)
    )


def _measured(
    cells: Cells, part: Surface.Part, room: RoomEntry, coats: LevelCoats | None, company: Company
) -> Quantities:
    """Read the metres; area and cornice, where they are blank, come from the room's sizes."""
    metres = {
        kind: cells.number(column, least=0, most=MOST) or 0.0
        for column, kind in METRE_COLUMNS.items()
    }
    area_m2 = cells.number("area_m2", least=0, most=MOST)
    cornice_m = cells.number("cornice_m", least=0, most=MOST)
    if _has_sizes(room):
        found = _from_rooms(part, room, company)
        area_m2 = found.area_m2 if area_m2 is None else area_m2
        cornice_m = found.cornice_m if cornice_m is None else cornice_m
    _check_cornice(cells, part, room, metres, cornice_m)
    if coats is not None and (coats.skim or coats.scrape) and not area_m2:
        cells.fault("area_m2", "the whole surface is coated at this level: give its area")
    fasteners = cells.whole("fasteners", most=1_000_000) or 0
    return Quantities(Surface.Takeoff.MEASURED, metres, fasteners, area_m2 or 0, cornice_m or 0)


def _check_cornice(
    cells: Cells,
    part: Surface.Part,
    room: RoomEntry,
    metres: dict[JointKind, float],
    cornice_m: float | None,
) -> None:
    """A cornice takes the place of the taped wall-to-ceiling corner, and belongs to the ceiling."""
    if part is Surface.Part.WALLS:
        if cells.text("cornice_m"):
            cells.fault("cornice_m", "belongs on the row of the ceiling")
    elif room.edge is Room.Edge.CORNICE:
        if metres[JointKind.INTERNAL]:
            cells.fault("internal_m", "the edge has a cornice: its corner would be counted twice")
        if not cornice_m:
            cells.fault("cornice_m", "the edge has a cornice: give its metres or the room's sizes")
    elif cornice_m:
        cells.fault("cornice_m", "only where edge says cornice")
