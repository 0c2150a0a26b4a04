"""What is wrong with a room and its takeoff, each fault with its place in the body."""

import re
from collections.abc import Iterator
from itertools import combinations

from finishing.models import Company, Surface
from finishing.rules.takeoff_faults import TakeoffError
from finishing.rules.vocabulary import JointKind
from finishing.services.errors import Fault
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.surface_takeoff import SIZES, taken_off

_OPENING = re.compile(r"opening (\d+), (\w+)")
WORKED_OUT = "These figures are worked out here: leave them out, or say that they were measured."


def takeoff_faults(
    room: RoomEntry, company: Company, *, stands: RoomEntry | None
) -> Iterator[Fault]:
    """Yield all that keeps a room from being taken off; places: as in its body. stands: the room
    as it is stored, whose figures may be sent again."""
    found = [*_missing(room), *_twice(room)]
    if found:
        yield from found
        return
    try:
        counted = taken_off(room, company)
    except TakeoffError as error:
        yield from (Fault(_place(said, room), said) for said in error.faults)
        return
    stored = [_figures(surface) for surface in stands.surfaces] if stands else []
    for number, (given, worked_out) in enumerate(zip(room.surfaces, counted.surfaces, strict=True)):
        known = [_no_figures(given), _figures(worked_out), *stored]
        if given.takeoff != Surface.Takeoff.MEASURED and _figures(given) not in known:
            yield Fault(f"surfaces/{number}/takeoff", WORKED_OUT)


def _missing(room: RoomEntry) -> Iterator[Fault]:
    ways = [surface.takeoff for surface in room.surfaces]
    if Surface.Takeoff.ROOMS in ways:
        for name in SIZES:
            if getattr(room, name) is None:
                yield Fault(name, "Needed for a takeoff from the room's sizes.")
    for number, surface in enumerate(room.surfaces):
        if surface.takeoff == Surface.Takeoff.ROUGH and not surface.area_m2:
            yield Fault(f"surfaces/{number}/area_m2", "Needed for a rough takeoff.")


def _twice(room: RoomEntry) -> Iterator[Fault]:
    for (_, one), (number, other) in combinations(enumerate(room.surfaces), 2):
        if one.part == other.part:
            yield Fault(f"surfaces/{number}/part", f"The {one.part} is there more than once.")


type Figures = tuple[Surface.Part, dict[JointKind, float], int, float, float]


def _figures(surface: SurfaceEntry) -> Figures:
    metres = {kind: length for kind, length in surface.metres.items() if length}
    return surface.part, metres, surface.fasteners, surface.area_m2, surface.cornice_m


def _no_figures(surface: SurfaceEntry) -> Figures:
    """Return the figures of a surface of which none is given that is worked out."""
    is_rough = surface.takeoff == Surface.Takeoff.ROUGH
    return surface.part, {}, 0, surface.area_m2 if is_rough else 0.0, 0.0


def _place(said: str, room: RoomEntry) -> str:
    """Return the place that a fault of the rules is about."""
    before = said.split(":", maxsplit=1)[0]
    if match := _OPENING.match(before):
        number, name = int(match[1]) - 1, match[2]
        return f"openings/{number}" + ("" if name == "head" else f"/{name}")
    if before.startswith("wall "):
        return "openings"
    parts = [surface.part.value for surface in room.surfaces]
    if before in parts:
        return f"surfaces/{parts.index(before)}"
    return before if before in SIZES else ""
