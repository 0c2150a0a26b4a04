"""What a takeoff is given and what it gives: rooms, openings, boards, averages, quantities."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from finishing.rules.vocabulary import JointKind

SCREWS_PER_M2 = 11.5
"""Published: 10.8 to 12.1 screws per m2 of board."""

WALLS = range(4)
LINEAR_JOINTS = (JointKind.TAPERED, JointKind.BUTT, JointKind.INTERNAL, JointKind.EXTERNAL)

ROUGH_SHARES: Mapping[JointKind, float] = MappingProxyType(
    {JointKind.TAPERED: 0.60, JointKind.BUTT: 0.15, JointKind.INTERNAL: 0.25}
)
"""How the tape of a whole house splits over joint kinds: an assumption."""


@dataclass(frozen=True, slots=True)
class Opening:
    """A door or window. wall: 0 and 2 are the walls along the length, 1 and 3 the others."""

    width_m: float
    height_m: float
    sill_m: float = 0.0
    lined: bool = False
    wall: int = 0

    @property
    def head_m(self) -> float:
        """Height of its head over the floor."""
        return self.sill_m + self.height_m

    @property
    def bead_m(self) -> float:
        """Metres of bead: two jambs and the head, and the sill where there is one."""
        if not self.lined:
            return 0.0
        sill_m = self.width_m if self.sill_m > 0 else 0.0
        return 2 * self.height_m + self.width_m + sill_m


@dataclass(frozen=True, slots=True)
class RoomShape:
    """A rectangular room; its ceiling is square-set, has a cornice, or neither."""

    length_m: float
    width_m: float
    height_m: float
    openings: Sequence[Opening] = ()
    square_set: bool = False
    cornice: bool = False

    def openings_in(self, wall: int) -> list[Opening]:
        """Return the openings of one wall."""
        return [opening for opening in self.openings if opening.wall == wall]

    @property
    def perimeter_m(self) -> float:
        """Length of all four walls."""
        return 2 * (self.length_m + self.width_m)

    def wall_length_m(self, wall: int) -> float:
        """Length of one wall."""
        return self.length_m if wall % 2 == 0 else self.width_m


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """Size of the boards and which way their long edges lie."""

    board_width_m: float
    board_length_m: float
    along: bool = True


@dataclass(frozen=True, slots=True)
class SurfaceTakeoff:
    """What there is to coat on one surface; ``metres`` has every linear joint kind."""

    area_m2: float
    metres: dict[JointKind, float]
    fasteners: int
    cornice_m: float = 0.0

    @property
    def quantities(self) -> dict[JointKind, float]:
        """Metres of joints, the count of fasteners and the area, by kind."""
        return {
            **self.metres,
            JointKind.FASTENERS: float(self.fasteners),
            JointKind.SURFACE: self.area_m2,
        }


@dataclass(frozen=True, slots=True)
class RoughAverages:
    """A company's averages per m2 of board.

    tape_m_per_m2: Peterson and Dagostino, Estimating in Building Construction, p. 203: 1.25.
    shares: how the tape splits over joint kinds, 1 in all. bead_m_per_m2: an assumption.
    """

    tape_m_per_m2: float = 1.25
    shares: Mapping[JointKind, float] = field(default_factory=lambda: ROUGH_SHARES)
    bead_m_per_m2: float = 0.05
    screws_per_m2: float = SCREWS_PER_M2
