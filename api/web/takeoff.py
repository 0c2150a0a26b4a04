"""Lines of a house's takeoff: surfaces with level, how they were taken off, quantities."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from finishing.models import Area, Room, Surface
from scheduling.wording import figure, joint_name, part_name, quantity

FULL_SURFACE_LEVELS = frozenset({"5", "Q4"})
"""What GA-214, AS/NZS 2589 and IGG Merkblatt 2 advise under glancing light."""

WAY_NAMES: dict[str, Promise] = {
    Surface.Takeoff.MEASURED: gettext_lazy("measured"),
    Surface.Takeoff.ROOMS: gettext_lazy("from room sizes"),
    Surface.Takeoff.ROUGH: gettext_lazy("rough, until measured"),
}


@dataclass(frozen=True)
class SurfaceLine:
    """A ceiling or the walls of a room."""

    room: str
    part: str
    level: str
    way: str
    rough: bool
    quantities: str
    flags: str


def surface_lines(area: Area) -> list[SurfaceLine]:
    """Return an area's surfaces, room by room, from rows that are already read."""
    return [_line(room, surface) for room in area.rooms.all() for surface in room.surfaces.all()]


def _line(room: Room, surface: Surface) -> SurfaceLine:
    return SurfaceLine(
        room=room.name,
        part=part_name(surface.part),
        level=_level(surface),
        way=str(WAY_NAMES.get(surface.takeoff, surface.takeoff)),
        rough=surface.takeoff == Surface.Takeoff.ROUGH,
        quantities=", ".join(_quantities(room, surface)),
        flags=", ".join(_flags(surface)),
    )


def _level(surface: Surface) -> str:
    """Return "GA-214 level 4", or "Q3" where the level names its family."""
    if surface.level.startswith(surface.family):
        return surface.level
    return _("%(family)s level %(level)s") % {"family": surface.family, "level": surface.level}


def _quantities(room: Room, surface: Surface) -> Iterator[str]:
    """Yield the stored quantities, or the sizes they will be worked out from."""
    stored = False
    for joint in surface.joints.all():
        stored = True
        yield f"{joint_name(joint.kind)} {quantity(joint.metres, 'm')}"
    if surface.fasteners:
        yield f"{joint_name('fasteners')} {surface.fasteners}"
    if surface.cornice_m:
        yield f"{joint_name('cornice')} {quantity(surface.cornice_m, 'm')}"
    if surface.area_m2:
        yield _("board %(area)s") % {"area": quantity(surface.area_m2, "m2")}
    sizes_m = [size for size in (room.length_m, room.width_m, room.height_m) if size]
    if sizes_m and not stored:
        yield _("room %(sizes)s m") % {"sizes": " x ".join(figure(size) for size in sizes_m)}


def _flags(surface: Surface) -> Iterator[str]:
    if surface.critical_light:
        yield _("critical light")
    if surface.wet_area:
        yield _("wet area")
    if surface.tiled_later:
        yield _("tiled later")
    if surface.plastic_beads:
        yield _("plastic beads, as their maker says")
    if surface.critical_light and surface.level not in FULL_SURFACE_LEVELS:
        yield _("a full-surface coat is advised in this light")
