"""The quantities of a surface in houses.csv: measured, from the room's sizes, or rough."""

from finishing.models import Company, Room, Surface
from finishing.rules.levels import LevelCoats
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
            return rounded(takeoff, from_sizes(part, room, company))
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
    return Surface.Takeoff.ROOMS if has_sizes(room) else Surface.Takeoff.ROUGH


def _rough(cells: Cells, company: Company) -> Quantities:
    area_m2 = cells.number("area_m2", above=0, most=MOST)
    if area_m2 is None:
        if not cells.text("area_m2"):
            cells.fault("area_m2", "nothing to take off: give metres, room sizes or area_m2")
        return Quantities(Surface.Takeoff.ROUGH)
    return rounded(Surface.Takeoff.ROUGH, from_averages(area_m2, company))


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
    if has_sizes(room):
        found = from_sizes(part, room, company)
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
