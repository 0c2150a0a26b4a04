"""What is wrong with a room, a board or averages: every fault at once, each with its place."""

from collections.abc import Iterator
from math import isclose, isfinite

from finishing.rules.placed_openings import placings
from finishing.rules.room_shapes import WALLS, BoardLayout, Opening, RoomShape, RoughAverages

_ROUNDING_M = 1e-9


class TakeoffError(ValueError):
    """A room, board or average that cannot be; ``faults`` names each fault and its place."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


def raise_if_any(faults: list[str]) -> None:
    """Raise :class:`TakeoffError` with all faults, if there are any."""
    if faults:
        raise TakeoffError(faults)


def shape_faults(shape: RoomShape) -> Iterator[str]:
    """Yield what is wrong with a room and its openings."""
    for name in ("length_m", "width_m", "height_m"):
        yield from _not_above_zero(name, getattr(shape, name))
    if shape.square_set and shape.cornice:
        yield "square_set and cornice: a ceiling has one or the other, not both"
    for number, opening in enumerate(shape.openings, start=1):
        yield from _opening_faults(f"opening {number}", opening, shape)
    for wall in WALLS:
        yield from _crowded(wall, shape)


def _crowded(wall: int, shape: RoomShape) -> Iterator[str]:
    """Yield where the openings of a wall, each possible by itself, do not fit beside each other."""
    openings, wall_m = shape.openings_in(wall), shape.wall_length_m(wall)
    possible = all(o.width_m > 0 and o.height_m > 0 for o in openings)
    if len(openings) > 1 and possible and next(placings(openings, wall_m, ()), None) is None:
        wide_m = sum(opening.width_m for opening in openings)
        yield f"wall {wall}: openings of {wide_m:g} m do not fit beside each other in {wall_m:g} m"


def layout_faults(layout: BoardLayout, screws_per_m2: float) -> Iterator[str]:
    """Yield what is wrong with a board and its screws."""
    yield from _not_above_zero("board_width_m", layout.board_width_m)
    yield from _not_above_zero("board_length_m", layout.board_length_m)
    yield from _below_zero("screws_per_m2", screws_per_m2)


def rough_faults(area_m2: float, averages: RoughAverages) -> Iterator[str]:
    """Yield what is wrong with an area and a company's averages."""
    yield from _not_above_zero("area_m2", area_m2)
    for name in ("tape_m_per_m2", "bead_m_per_m2", "screws_per_m2"):
        yield from _below_zero(name, getattr(averages, name))
    for kind, share in averages.shares.items():
        yield from _below_zero(f"shares, {kind}", share)
    total = sum(averages.shares.values())
    if not isclose(total, 1.0, abs_tol=1e-6):
        yield f"shares: they add up to {total:g}, not to 1"


def _opening_faults(place: str, opening: Opening, shape: RoomShape) -> Iterator[str]:
    yield from _not_above_zero(f"{place}, width_m", opening.width_m)
    yield from _not_above_zero(f"{place}, height_m", opening.height_m)
    yield from _below_zero(f"{place}, sill_m", opening.sill_m)
    if opening.wall not in WALLS:
        yield f"{place}, wall: {opening.wall} is not one of 0, 1, 2, 3"
        return
    wall_m = shape.wall_length_m(opening.wall)
    if opening.width_m > wall_m + _ROUNDING_M:
        yield f"{place}, width_m: {opening.width_m:g} is more than its wall of {wall_m:g}"
    if opening.head_m > shape.height_m + _ROUNDING_M:
        yield f"{place}, head: {opening.head_m:g} is above the wall of {shape.height_m:g}"


def _not_above_zero(name: str, value: float) -> Iterator[str]:
    if not (isfinite(value) and value > 0):
        yield f"{name}: {value:g} is not above 0"


def _below_zero(name: str, value: float) -> Iterator[str]:
    if not (isfinite(value) and value >= 0):
        yield f"{name}: {value:g} is not 0 or more"
