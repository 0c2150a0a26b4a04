"""Minutes on the road between houses."""

from itertools import permutations

from finishing.models import House
from finishing.rules.distance import great_circle_km
from scheduling.solver.problem import TICK_MINUTES

DETOUR = 1.3
"""Road over straight line. An assumption: common practice, no published source."""
KM_PER_HOUR = 40.0
PARKING_MINUTES = 5.0


def travel_ticks(houses: list[House], default_minutes: int) -> dict[tuple[str, str], int]:
    """Return ticks between every two houses, by position where both have one."""
    return {
        (str(a.public_id), str(b.public_id)): -int(
            -way_minutes(a, b, default_minutes) // TICK_MINUTES
        )
        for a, b in permutations(houses, 2)
    }


def road_km(a: House, b: House, minutes: int) -> float:
    """Return the road between two houses; where one has no position, what ``minutes`` come to."""
    km = _straight_km(a, b)
    if km is None:
        return max(0.0, minutes - PARKING_MINUTES) / 60 * KM_PER_HOUR
    return km * DETOUR


def way_minutes(a: House, b: House, default_minutes: int) -> float:
    """Return the minutes from one house to another."""
    km = _straight_km(a, b)
    if km is None:
        return default_minutes
    return PARKING_MINUTES + km * DETOUR / KM_PER_HOUR * 60


def _straight_km(a: House, b: House) -> float | None:
    """Return the great-circle distance, or None without both positions."""
    if a.latitude is None or a.longitude is None or b.latitude is None or b.longitude is None:
        return None
    return great_circle_km((a.latitude, a.longitude), (b.latitude, b.longitude))
