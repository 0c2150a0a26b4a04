"""The words of the trade that rules, rows and pages share. Values are stored in the database."""

from dataclasses import dataclass
from enum import StrEnum


class JointKind(StrEnum):
    """What gets coated. Lengths in metres, fasteners as a count, the whole surface in m2."""

    TAPERED = "tapered"
    """Flat joint between two recessed edges."""
    BUTT = "butt"
    """Flat joint between cut or square edges."""
    INTERNAL = "internal"
    EXTERNAL = "external"
    """External corner with a bead."""
    FASTENERS = "fasteners"
    SURFACE = "surface"


class Stage(StrEnum):
    """The steps of finishing a room, in the order in which they are done."""

    PREFILL = "prefill"
    """Gaps filled and beads fixed, with a setting compound, before any tape."""
    TAPE = "tape"
    SECOND = "second"
    FINISH = "finish"
    OTHER_FACE = "other_face"
    """The second face of internal corners, where no later coat of the room brings it along."""
    SAND = "sand"
    SKIM = "skim"
    SKIM_SAND = "skim_sand"
    CORNICE = "cornice"
    INSPECT = "inspect"
    """Inspection under a lamp held along the surface."""
    PRIMER_TOUCH_UP = "primer_touch_up"
    TRADES_TOUCH_UP = "trades_touch_up"


COATS = frozenset(
    {Stage.PREFILL, Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.OTHER_FACE, Stage.SKIM}
)
"""Stages that put compound on a whole room and leave water in it."""

DUSTY = frozenset({Stage.SAND, Stage.SKIM_SAND})


class Family(StrEnum):
    """Families of finish levels. They are not equivalent and are never converted silently."""

    GA214 = "GA-214"
    """GA-214 / ASTM C840, levels 0-5."""
    ASNZS2589 = "AS/NZS 2589"
    """Levels 3-5."""
    QUALITY = "Q"
    """IGG Merkblatt 2 / Eurogypsum, Q1-Q4."""


class Hardening(StrEnum):
    """How a compound gets hard: a reaction with its mixing water, or the loss of water."""

    SETS = "sets"
    DRIES = "dries"


class Tape(StrEnum):
    """Joint reinforcement: paper is bedded in compound, mesh sticks and is coated over."""

    PAPER = "paper"
    MESH = "mesh"


class CornerTool(StrEnum):
    """How the last coat of an internal corner is put on."""

    FLAT_KNIFE = "flat_knife"
    """One face, a set or a wait, then the other."""
    CORNER_TOOL = "corner_tool"
    """Both faces at once."""


class RoomKind(StrEnum):
    ROOM = "room"
    STAIRWELL = "stairwell"
    """Done in one run: the tower blocks the stairs."""


class Readiness(StrEnum):
    """What a house must offer before finishing work, each owed by someone."""

    BOARDED = "boarded"
    INSPECTED = "inspected"
    """Fixings and blocking inspected."""
    CLOSED_UP = "closed_up"
    POWER = "power"
    WATER = "water"
    HEAT = "heat"
    LIGHT = "light"
    CLEAR_FLOORS = "clear_floors"
    WAY_IN = "way_in"
    PRIMED = "primed"
    """The painter's primer is on: what the touch-up after primer waits for."""
    TRADES_DONE = "trades_done"
    """The other trades are through: what the last touch-up waits for."""


class Skill(StrEnum):
    """What a crew member can do; a crew can do what any of its members can."""

    COATING = "coating"
    SANDING = "sanding"
    SKIMMING = "skimming"
    CORNICE = "cornice"
    ODD_JOBS = "odd_jobs"


class Heating(StrEnum):
    """How a house is heated at present."""

    UNHEATED = "unheated"
    HEATED = "heated"


class Shell(StrEnum):
    """Whether a house can be closed yet."""

    OPEN = "open"
    CLOSED = "closed"


class DryerKind(StrEnum):
    """What dries a house's air."""

    DEHUMIDIFIER = "dehumidifier"
    HEATER = "heater"


@dataclass(frozen=True, slots=True)
class Compound:
    """A jointing compound: how it hardens and what it may do. Plain, unbranded.

    working_minutes: time from mixing until it can no longer be worked (setting compounds).
    set_hours: time until it is hard (setting). practice_hours: least wait before the next coat.
    sand_hours: least wait from the last coat to sanding. density_kg_per_l, water_fraction: of
    the wet compound, water by mass. pack_kg: sizes it is sold in.
    stages: which stages it may be used for. tapes: which tapes it may bed (empty: none).
    hard: a hard coat, which never goes over a soft one. deep_fill: whether it may fill deep gaps.
    powder_kg_per_l: dry powder in a litre of mixed compound (0 for ready-mixed).
    minimum_c, maximum_c: air temperature while it is worked and until it is dry (set, for a
    setting compound). conditioning_hours: how long before it the air must have been that warm.
    """

    name: str
    hardening: Hardening
    stages: frozenset[Stage]
    tapes: frozenset[Tape] = frozenset()
    hard: bool = False
    deep_fill: bool = False
    working_minutes: int = 0
    set_hours: float = 0.0
    practice_hours: float = 24.0
    sand_hours: float = 24.0
    density_kg_per_l: float = 1.65
    water_fraction: float = 0.33
    powder_kg_per_l: float = 0.0
    pack_kg: tuple[float, ...] = (20.0,)
    minimum_c: float = 10.0
    maximum_c: float = 35.0
    conditioning_hours: float = 48.0
