"""How much air a house holds."""

from finishing.models import House, Room

M3_PER_M2_BOARD = 0.75
"""Of a room whose sizes are not known: one of 5 x 4 m, 2.4 m high, holds 48 m3 of air behind 63 m2
of board."""
LEAST_ROOM_M3 = 5.0
"""A room of which nothing is known still holds air: an assumption."""


def volume_m3(house: House) -> float:
    """Return a house's air in m3: its own figure, else the sum over its rooms.

    Reads ``areas__rooms__surfaces``: prefetch them for many houses.
    """
    if house.volume_m3:
        return house.volume_m3
    rooms = [room for area in house.areas.all() for room in area.rooms.all()]
    return sum(map(_room_m3, rooms)) or LEAST_ROOM_M3


def _room_m3(room: Room) -> float:
    if room.length_m and room.width_m and room.height_m:
        return room.length_m * room.width_m * room.height_m
    board_m2 = sum(surface.area_m2 for surface in room.surfaces.all())
    return max(board_m2 * M3_PER_M2_BOARD, LEAST_ROOM_M3)
