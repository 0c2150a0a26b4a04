"""What a kilogram of a compound costs, from what its packs cost."""

from collections.abc import Mapping
from fractions import Fraction

from finishing.models import Company, Compound

type KgPrices = Mapping[str, Fraction]
"""By name of a compound the (fraction of) minor units that a kg costs."""


def kg_prices(company: Company) -> KgPrices:
    """Return what a kg of each compound costs in the pack in which it is cheapest; one whose packs
    have no price is not among them."""
    rows = Compound.objects.filter(company=company).exclude(pack_prices=[])
    return {row.name: _cheapest(row) for row in rows if row.pack_kg}


def _cheapest(row: Compound) -> Fraction:
    packs = zip(row.pack_kg, row.pack_prices, strict=True)
    return min(Fraction(price) / Fraction(str(kg)) for kg, price in packs)
