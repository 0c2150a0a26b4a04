"""What there is to coat on a surface: as measured, from the room's sizes, or from averages."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from finishing.models import Company, Room, Surface
from finishing.rules.board_layout import Face, lay_ceiling, lay_walls
from finishing.rules.levels import coats_for
from finishing.rules.room_shapes import (
    SCREWS_PER_M2,
    BoardLayout,
    RoomShape,
    RoughAverages,
    SurfaceTakeoff,
)
from finishing.rules.takeoff import rough_takeoff, take_off_ceiling, take_off_walls
from finishing.rules.takeoff_faults import (
    TakeoffError,
    layout_faults,
    raise_if_any,
    shape_faults,
)
from finishing.rules.vocabulary import JointKind
from finishing.services.house_entries import RoomEntry, SurfaceEntry

SIZES = ("length_m", "width_m", "height_m")


@dataclass(frozen=True, slots=True)
class Quantities:
    """What there is to coat on a surface, and how it was found out."""

    takeoff: Surface.Takeoff
    metres: Mapping[JointKind, float] = field(default_factory=dict)
    fasteners: int = 0
    area_m2: float = 0.0
    cornice_m: float = 0.0


def has_sizes(room: RoomEntry) -> bool:
    """Return whether length, width and height of a room are known."""
    return all(getattr(room, name) is not None for name in SIZES)


def room_shape(room: RoomEntry) -> RoomShape:
    """Return a room as the rules know it; raise TakeoffError where sizes are missing."""
    missing = [name for name in SIZES if getattr(room, name) is None]
    if missing:
        raise TakeoffError([f"from the room's sizes, but {' and '.join(missing)} is not given"])
    return RoomShape(
        length_m=room.length_m or 0,
        width_m=room.width_m or 0,
        height_m=room.height_m or 0,
        openings=room.openings,
        square_set=room.edge == Room.Edge.SQUARE_SET,
        cornice=room.edge == Room.Edge.CORNICE,
    )


def board_layout(room: RoomEntry, company: Company) -> BoardLayout:
    """Return the company's boards as they lie in a room."""
    return BoardLayout(company.board_width_m, company.board_length_m, room.boards_along)


def from_sizes(part: Surface.Part, room: RoomEntry, company: Company) -> SurfaceTakeoff:
    """Return a surface's takeoff from the room's sizes; raise TakeoffError with all faults."""
    take_off = take_off_ceiling if part == Surface.Part.CEILING else take_off_walls
    return take_off(room_shape(room), board_layout(room, company))


def room_faces(room: RoomEntry, company: Company) -> list[Face]:
    """Return the ceiling and the walls that a room has, laid out as its takeoff counts them; none
    where its sizes are not known. Raises TakeoffError with all faults."""
    if not has_sizes(room):
        return []
    shape, layout = room_shape(room), board_layout(room, company)
    raise_if_any([*shape_faults(shape), *layout_faults(layout, SCREWS_PER_M2)])
    parts = {surface.part for surface in room.surfaces}
    ceilings = [lay_ceiling(shape, layout)] if Surface.Part.CEILING in parts else []
    return [*ceilings, *(lay_walls(shape, layout) if Surface.Part.WALLS in parts else [])]


def from_averages(area_m2: float, company: Company) -> SurfaceTakeoff:
    """Return a takeoff from m2 and the company's averages; raise TakeoffError with all faults."""
    return rough_takeoff(area_m2, RoughAverages(tape_m_per_m2=company.tape_m_per_m2))


def rounded(takeoff: Surface.Takeoff, found: SurfaceTakeoff) -> Quantities:
    """Return a takeoff to the centimetre, as it is stored."""
    metres = {kind: round(value, 2) for kind, value in found.metres.items()}
    return Quantities(
        takeoff, metres, found.fasteners, round(found.area_m2, 2), round(found.cornice_m, 2)
    )


def taken_off(room: RoomEntry, company: Company) -> RoomEntry:
    """Return a room with the quantities that each surface's way of takeoff gives.

    A rough takeoff without an area stays empty: nothing is known yet. Raises TakeoffError with
    all faults, each with its surface.
    """
    faults = list(shape_faults(room_shape(room))) if has_sizes(room) else []
    surfaces = []
    for surface in room.surfaces:
        try:
            found = _quantities(surface, room, company)
        except TakeoffError as error:
            faults += error.faults
            continue
        faults += _faults(surface, found, room)
        surfaces.append(
            replace(
                surface,
                metres=found.metres,
                fasteners=found.fasteners,
                area_m2=found.area_m2,
                cornice_m=found.cornice_m,
            )
        )
    if faults:
        raise TakeoffError(list(dict.fromkeys(faults)))
    return replace(room, surfaces=tuple(surfaces))


def _quantities(surface: SurfaceEntry, room: RoomEntry, company: Company) -> Quantities:
    if surface.takeoff == Surface.Takeoff.ROOMS:
        return rounded(surface.takeoff, from_sizes(surface.part, room, company))
    if surface.takeoff == Surface.Takeoff.ROUGH:
        if not surface.area_m2:
            return Quantities(surface.takeoff)
        return rounded(surface.takeoff, from_averages(surface.area_m2, company))
    return _measured(surface, room, company)


def _measured(surface: SurfaceEntry, room: RoomEntry, company: Company) -> Quantities:
    """Return what was measured; area and cornice, where they are 0, from the room's sizes."""
    area_m2, cornice_m = surface.area_m2, surface.cornice_m
    if has_sizes(room) and not (area_m2 and cornice_m):
        found = rounded(surface.takeoff, from_sizes(surface.part, room, company))
        area_m2, cornice_m = area_m2 or found.area_m2, cornice_m or found.cornice_m
    return Quantities(surface.takeoff, surface.metres, surface.fasteners, area_m2, cornice_m)


def _faults(surface: SurfaceEntry, found: Quantities, room: RoomEntry) -> Iterator[str]:
    """Yield what measured figures leave open or count twice."""
    if surface.takeoff != Surface.Takeoff.MEASURED:
        return
    coats = coats_for(surface.family, surface.level)
    if (coats.skim or coats.scrape) and not found.area_m2:
        yield f"{surface.part}: the whole surface is coated at this level: give its m2"
    if surface.part == Surface.Part.CEILING and room.edge == Room.Edge.CORNICE:
        if found.metres.get(JointKind.INTERNAL):
            yield f"{surface.part}: the edge has a cornice: its corner would be counted twice"
        if not found.cornice_m:
            yield f"{surface.part}: the edge has a cornice: give its metres or the room's sizes"
    elif found.cornice_m:
        yield f"{surface.part}: metres of cornice only on a ceiling whose edge has one"
