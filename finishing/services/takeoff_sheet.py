"""The quantities of a surface in houses.csv: measured, from the room's sizes, or rough.

All cells are read first, whichever of them the takeoff goes by: a fault in one hides none in
another.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from finishing.models import Company, Room, Surface
from finishing.rules.levels import LevelCoats
from finishing.rules.room_shapes import SurfaceTakeoff
from finishing.rules.takeoff_faults import TakeoffError
from finishing.rules.vocabulary import JointKind
from finishing.services.cells import Cells
from finishing.services.house_entries import RoomEntry
from finishing.services.surface_takeoff import (
    Quantities,
    from_averages,
    from_sizes,
    has_sizes,
    rounded,
)

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
class TypedQuantities:
    """What the cells of a surface say; None for a blank cell and for one that cannot be read."""

    takeoff: Surface.Takeoff | None
    metres: Mapping[JointKind, float]
    fasteners: int
    area_m2: float | None
    cornice_m: float | None


def typed_quantities(cells: Cells) -> TypedQuantities:
    """Read the cells of a surface by themselves; what is wrong is noted on the sheet."""
    return TypedQuantities(
        takeoff=cells.choice("takeoff", Surface.Takeoff),
        metres={
            kind: cells.number(column, least=0, most=MOST) or 0.0
            for column, kind in METRE_COLUMNS.items()
        },
        fasteners=cells.whole("fasteners", most=1_000_000) or 0,
        area_m2=cells.number("area_m2", least=0, most=MOST),
        cornice_m=cells.number("cornice_m", least=0, most=MOST),
    )


def quantities_of(
    cells: Cells, *, part: Surface.Part, room: RoomEntry, coats: LevelCoats | None, company: Company
) -> Quantities:
    """Read or work out a surface's quantities; what is wrong is noted on the sheet."""
    typed = typed_quantities(cells)
    takeoff = typed.takeoff or _takeoff(cells, room)
    if takeoff is Surface.Takeoff.MEASURED:
        return _measured(cells, typed, part=part, room=room, coats=coats, company=company)
    for column in filter(cells.text, MEASURED_COLUMNS):
        cells.fault(column, f"is measured, but takeoff says {takeoff}")
    if takeoff is Surface.Takeoff.ROUGH:
        return _rough(cells, typed, company)
    found = _from_sizes(cells, part, room, company)
    return rounded(takeoff, found) if found else Quantities(takeoff)


def _takeoff(cells: Cells, room: RoomEntry) -> Surface.Takeoff:
    if any(cells.text(column) for column in MEASURED_COLUMNS):
        return Surface.Takeoff.MEASURED
    return Surface.Takeoff.ROOMS if has_sizes(room) else Surface.Takeoff.ROUGH


def _from_sizes(
    cells: Cells, part: Surface.Part, room: RoomEntry, company: Company
) -> SurfaceTakeoff | None:
    try:
        return from_sizes(part, room, company)
    except TakeoffError as error:
        for fault in error.faults:
            cells.fault("takeoff", fault)
    return None


def _rough(cells: Cells, typed: TypedQuantities, company: Company) -> Quantities:
    if not cells.text("area_m2"):
        cells.fault("area_m2", "nothing to take off: give metres, room sizes or area_m2")
    elif typed.area_m2 == 0:
        cells.fault("area_m2", f"{cells.text('area_m2')} must be more than 0")
    if not typed.area_m2:
        return Quantities(Surface.Takeoff.ROUGH)
    return rounded(Surface.Takeoff.ROUGH, from_averages(typed.area_m2, company))


def _measured(
    cells: Cells,
    typed: TypedQuantities,
    *,
    part: Surface.Part,
    room: RoomEntry,
    coats: LevelCoats | None,
    company: Company,
) -> Quantities:
    """Return what was measured; area and cornice, where they are blank, come from the room's
    sizes."""
    _check_cornice(cells, typed, part, room)
    area_m2, cornice_m = typed.area_m2, typed.cornice_m
    if has_sizes(room):
        found = _from_sizes(cells, part, room, company)
        if found is None:
            return Quantities(Surface.Takeoff.MEASURED)
        area_m2 = found.area_m2 if area_m2 is None else area_m2
        cornice_m = found.cornice_m if cornice_m is None else cornice_m
    of_ceiling = part is Surface.Part.CEILING and room.edge is Room.Edge.CORNICE
    if of_ceiling and _is_lacking(cells, "cornice_m", cornice_m):
        cells.fault("cornice_m", "the edge has a cornice: give its metres or the room's sizes")
    if coats and (coats.skim or coats.scrape) and _is_lacking(cells, "area_m2", area_m2):
        cells.fault("area_m2", "the whole surface is coated at this level: give its area")
    return Quantities(
        Surface.Takeoff.MEASURED, typed.metres, typed.fasteners, area_m2 or 0, cornice_m or 0
    )


def _is_lacking(cells: Cells, column: str, value: float | None) -> bool:
    """Return whether there is nothing of it, other than for a cell that cannot be read."""
    return value == 0 or (value is None and not cells.text(column))


def _check_cornice(
    cells: Cells, typed: TypedQuantities, part: Surface.Part, room: RoomEntry
) -> None:
    """A cornice takes the place of the taped wall-to-ceiling corner, and belongs to the ceiling."""
    if part is Surface.Part.WALLS:
        if cells.text("cornice_m"):
            cells.fault("cornice_m", "belongs on the row of the ceiling")
    elif room.edge is Room.Edge.CORNICE:
        if typed.metres[JointKind.INTERNAL]:
            cells.fault("internal_m", "the edge has a cornice: its corner would be counted twice")
    elif typed.cornice_m:
        cells.fault("cornice_m", "only where edge says cornice")
