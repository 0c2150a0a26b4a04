"""Batches of a setting compound: how many, how large, and until when one may still be mixed.

A batch is what a crew puts on within the compound's working time. What counts as silly (so many
batches in a visit, or so small that a bucket is hardly wet) is an assumption: common practice, no
published source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from finishing.rules.packs import TINY
from finishing.rules.vocabulary import Compound, Hardening

MOST_MIXES = 8
"""More batches of one compound in a visit are silly."""
LEAST_LITRES = 2.0
"""Smaller batches are silly, where it takes more than one."""


@dataclass(frozen=True, slots=True)
class Mixes:
    """count batches of ``litres`` each, of so much powder and water; placing_minutes: what the
    crew takes to put one on, never more than the working time."""

    count: int
    litres: float
    powder_kg: float
    water_l: float
    placing_minutes: float

    @property
    def silly(self) -> bool:
        """Whether a compound that can be worked longer would be better."""
        return self.count > MOST_MIXES or (self.count > 1 and self.litres < LEAST_LITRES)


def mixes_for(
    litres: float, compound: Compound, *, heads: int, litres_per_hour: float
) -> Mixes | None:
    """Return the batches for so many mixed litres; None where there is nothing to mix.

    heads: people who put it on. litres_per_hour: what each of them puts on. A drying compound
    comes mixed. Raises ValueError for nobody, no rate, no working time or no density.
    """
    if compound.hardening is not Hardening.SETS or litres <= TINY:
        return None
    a_minute = heads * litres_per_hour / 60
    if a_minute <= 0 or compound.working_minutes <= 0 or compound.density_kg_per_l <= 0:
        raise ValueError("mixing asks for people, a placing rate, a working time and a density")
    count = max(1, ceil(litres / (a_minute * compound.working_minutes) - TINY))
    each = litres / count
    return Mixes(
        count=count,
        litres=each,
        powder_kg=each * compound.powder_kg_per_l,
        water_l=each * compound.density_kg_per_l * compound.water_fraction,
        placing_minutes=each / a_minute,
    )


def longer_working(
    litres: float,
    compound: Compound,
    others: Iterable[Compound],
    *,
    heads: int,
    litres_per_hour: float,
) -> Compound | None:
    """Return a compound in place of one of silly batches: of those that set, may do all that it may
    and can be worked longer, the quickest whose batches are not silly, or else the slowest."""
    now = mixes_for(litres, compound, heads=heads, litres_per_hour=litres_per_hour)
    if now is None or not now.silly:
        return None
    longer = sorted(
        (other for other in others if _may_replace(other, compound)),
        key=lambda other: other.working_minutes,
    )
    for other in longer:
        found = mixes_for(litres, other, heads=heads, litres_per_hour=litres_per_hour)
        if found and not found.silly:
            return other
    return longer[-1] if longer else None


def _may_replace(other: Compound, compound: Compound) -> bool:
    return (
        other.hardening is Hardening.SETS
        and other.working_minutes > compound.working_minutes
        and other.stages >= compound.stages
        and other.tapes >= compound.tapes
        and other.hard == compound.hard
        and other.deep_fill >= compound.deep_fill
    )
