"""How many coats each finish level asks for.

Sources: GA-214 / ASTM C840 (levels 0-5), AS/NZS 2589:2017 (levels 3-5), IGG Merkblatt 2 /
Eurogypsum (Q1-Q4). Older American texts count the tape coat in ("three coats" at level 4); here
the tape is counted apart, as in the current edition: the same work under another number.

Common practice, no published source: internal corners get two coats only, whatever the level
adds to flat joints; fasteners and beads outside GA-214 are coated as often as flat joints;
levels 3 and above (Q2 and above) are sanded, those below are not.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from finishing.rules.vocabulary import Family, JointKind

TAPED_KINDS = frozenset({JointKind.TAPERED, JointKind.BUTT, JointKind.INTERNAL})


@dataclass(frozen=True, slots=True)
class LevelCoats:
    """What a finish level asks of a surface.

    further: coats after the tape coat for taped joints; all coats for fasteners and beads.
    taped: whether joints are taped. wiped: tape wiped down to a thin cover, not left rough.
    sanded: whether the coats are sanded. skim: a coat over the whole surface.
    scrape: the whole surface drawn over sharply with compound, together with the finish coat.
    """

    further: Mapping[JointKind, int]
    taped: bool = True
    wiped: bool = False
    sanded: bool = False
    skim: bool = False
    scrape: bool = False

    def coats(self, kind: JointKind) -> int:
        """Return all coats of a joint kind, the tape coat included."""
        tape = 1 if self.taped and kind in TAPED_KINDS else 0
        return tape + self.further.get(kind, 0)


class UnknownLevel(ValueError):  # noqa: N818  (reads as the fault it is)
    """A finish level that its family does not have."""

    def __init__(self, family: Family, level: str) -> None:
        self.family = family
        self.level = level
        self.known = levels_of(family)
        super().__init__(f"level {level!r} is not one of {family}: {', '.join(self.known)}")


def _further(*, flat: int, internal: int, fasteners: int, beads: int) -> Mapping[JointKind, int]:
    return MappingProxyType(
        {
            JointKind.TAPERED: flat,
            JointKind.BUTT: flat,
            JointKind.INTERNAL: internal,
            JointKind.FASTENERS: fasteners,
            JointKind.EXTERNAL: beads,
        }
    )


_NONE = _further(flat=0, internal=0, fasteners=0, beads=0)
_BASE = _further(flat=0, internal=0, fasteners=1, beads=1)
_ONE_MORE = _further(flat=1, internal=1, fasteners=2, beads=2)
_TWO_MORE = _further(flat=2, internal=1, fasteners=3, beads=3)

_TABLE: Mapping[Family, Mapping[str, LevelCoats]] = {
    Family.GA214: {
        "0": LevelCoats(_NONE, taped=False),
        "1": LevelCoats(_NONE),
        "2": LevelCoats(_BASE, wiped=True),
        "3": LevelCoats(_ONE_MORE, wiped=True, sanded=True),
        "4": LevelCoats(_TWO_MORE, wiped=True, sanded=True),
        "5": LevelCoats(_TWO_MORE, wiped=True, sanded=True, skim=True),
    },
    Family.ASNZS2589: {
        "3": LevelCoats(_ONE_MORE, wiped=True, sanded=True),
        "4": LevelCoats(_TWO_MORE, wiped=True, sanded=True),
        "5": LevelCoats(_TWO_MORE, wiped=True, sanded=True, skim=True),
    },
    Family.QUALITY: {
        "Q1": LevelCoats(_BASE, wiped=True),
        "Q2": LevelCoats(_ONE_MORE, wiped=True, sanded=True),
        "Q3": LevelCoats(_TWO_MORE, wiped=True, sanded=True, scrape=True),
        "Q4": LevelCoats(_TWO_MORE, wiped=True, sanded=True, skim=True),
    },
}


def levels_of(family: Family) -> tuple[str, ...]:
    """Return the names of a family's levels, from the plainest up."""
    return tuple(_TABLE[family])


def coats_for(family: Family, level: str) -> LevelCoats:
    """Return what a level asks for; raise :class:`UnknownLevel` for one the family lacks."""
    try:
        return _TABLE[family][level]
    except KeyError:
        raise UnknownLevel(family, level) from None
