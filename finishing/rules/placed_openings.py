"""Where the openings of a wall stand, as nobody measures that: beside each other, where they cut
the fewest upright lines.

What is not known must not make a takeoff smaller, so an opening stands between two lines where it
is narrower than their spacing, and across as few as it can where it is wider. Spaces to both
sides of it are alike as far as the lines leave room for that.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from finishing.rules.room_shapes import Opening

ROUNDING_M = 1e-9
_MIDDLE, _LEFT = 0.5, 0.0


@dataclass(frozen=True, slots=True)
class PlacedOpening:
    """An opening with the distance of its left side from the left end of its wall."""

    opening: Opening
    left_m: float

    @property
    def right_m(self) -> float:
        """Distance of its right side from the left end of its wall."""
        return self.left_m + self.opening.width_m

    def spans(self, across_m: float) -> bool:
        """Return whether an upright line at that distance from the left meets it inside."""
        return self.left_m + ROUNDING_M < across_m < self.right_m - ROUNDING_M

    def reaches(self, up_m: float) -> bool:
        """Return whether a level line at that height meets it strictly inside."""
        return self.opening.sill_m + ROUNDING_M < up_m < self.opening.head_m - ROUNDING_M


def placings(
    openings: Sequence[Opening], wall_m: float, lines_m: Sequence[float]
) -> Iterator[tuple[PlacedOpening, ...]]:
    """Yield ways to stand all openings in a wall of that length, none over another; lines_m: the
    upright lines to keep clear of. None where they do not fit beside each other."""
    widest_first = sorted(openings, key=lambda opening: -opening.width_m)
    for order in (openings, widest_first):
        for share in (_MIDDLE, _LEFT):
            placed = _placed(order, wall_m, lines_m, share)
            if placed is not None:
                yield placed
        packed = _placed(order, wall_m, (), _LEFT)  # fits wherever lines left too little beside
        if packed is not None:
            yield packed


def _placed(
    openings: Sequence[Opening], wall_m: float, lines_m: Sequence[float], share: float
) -> tuple[PlacedOpening, ...] | None:
    placed: list[PlacedOpening] = []
    for opening in openings:
        places = [
            PlacedOpening(opening, least + share * (most - least))
            for least, most in _free(opening, wall_m, lines_m, placed)
        ]
        if not places:
            return None
        placed.append(min(places, key=lambda place: sum(map(place.spans, lines_m))))
    return tuple(placed)


def _free(
    opening: Opening, wall_m: float, lines_m: Sequence[float], placed: Sequence[PlacedOpening]
) -> Iterator[tuple[float, float]]:
    """Yield the ranges in which its left side may lie; all over one meet the same lines."""
    last_m = max(wall_m - opening.width_m, 0.0)
    beside = [other for other in placed if _side_by_side(opening, other.opening)]
    stops = {0.0, last_m}
    for meets_m in (*lines_m, *(side for o in beside for side in (o.left_m, o.right_m))):
        stops |= {meets_m, meets_m - opening.width_m}
    inside = sorted(stop for stop in stops if 0.0 <= stop <= last_m)
    for least, most in (*itertools.pairwise(inside), *((at, at) for at in inside)):
        place = PlacedOpening(opening, (least + most) / 2)
        if not any(_overlap(place, other) for other in beside):
            yield least, most


def _side_by_side(one: Opening, other: Opening) -> bool:
    """Return whether there is a height that both reach."""
    return one.sill_m + ROUNDING_M < other.head_m and other.sill_m + ROUNDING_M < one.head_m


def _overlap(one: PlacedOpening, other: PlacedOpening) -> bool:
    return one.left_m + ROUNDING_M < other.right_m and other.left_m + ROUNDING_M < one.right_m
