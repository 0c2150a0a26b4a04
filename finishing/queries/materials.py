"""What a company buys, what of it is there, and how fast it goes on."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from finishing.models import Company, Compound, PlacingRate, StockLine, Supply
from finishing.rules.placing import DEFAULT_LITRES_PER_HOUR
from finishing.rules.supplies import IN_METRES, SupplyKind
from finishing.rules.vocabulary import Hardening, Stage


@dataclass(frozen=True)
class Item:
    """A thing that is bought. key: of the row it is, "compound:<id>" or "supply:<id>".

    unit: "kg", "m" or "each". sizes: of its packs, in that unit; prices: of each, empty where none
    is known. keeps_days: once opened, None for any time. used_per_unit: of a supply.
    """

    key: str
    name: str
    unit: str
    sizes: tuple[float, ...]
    prices: tuple[int, ...]
    keeps_days: int | None
    lead_days: int
    awaited: bool
    used_per_unit: float = 1.0

    def price_of(self, size: float) -> int | None:
        """Return what a pack of a size costs, in minor units."""
        return dict(zip(self.sizes, self.prices, strict=False)).get(size)

    @property
    def unit_price(self) -> Fraction | None:
        """What a kg, metre or piece costs in the pack in which it is cheapest, in (fractions of)
        minor units; None where no pack has a price."""
        packs = zip(self.prices, self.sizes, strict=False)
        return min((price / Fraction(str(size)) for price, size in packs), default=None)


@dataclass(frozen=True)
class Catalogue:
    """All that a company buys. compounds: the rows by name; by_compound: what each is bought as."""

    compounds: Mapping[str, Compound]
    by_compound: Mapping[str, Item]
    by_kind: Mapping[SupplyKind, Item]

    @property
    def items(self) -> list[Item]:
        return [*self.by_compound.values(), *self.by_kind.values()]

    @property
    def longest_lead(self) -> int:
        """The most days that anything takes to be delivered."""
        return max((item.lead_days for item in self.items), default=0)


def read_catalogue(company: Company) -> Catalogue:
    """Return what a company buys, in two queries."""
    compounds = Compound.objects.filter(company=company).order_by("name")
    supplies = Supply.objects.filter(company=company).order_by("kind")
    by_name = {row.name: row for row in compounds}
    return Catalogue(
        compounds=by_name,
        by_compound={name: _compound_item(row) for name, row in by_name.items()},
        by_kind={SupplyKind(row.kind): _supply_item(row) for row in supplies},
    )


def uses_powder(compound: Compound) -> bool:
    """Return whether it is bought as a powder."""
    return compound.hardening == Hardening.SETS and compound.powder_kg_per_l > 0


def unit_of(supply: Supply) -> str:
    """Return in which unit a supply is bought, as :class:`Item` has it."""
    return "m" if supply.kind in IN_METRES else "each"


def stock_lines(company: Company) -> list[StockLine]:
    """Return full packs in the store or on their way as they were counted, in one query."""
    rows = StockLine.objects.filter(company=company).select_related("compound", "supply")
    return list(rows.order_by("arrives_on", "pk"))


def litres_per_hour(company: Company) -> dict[Stage, float]:
    """Return what one person puts on in an hour, by stage."""
    own = PlacingRate.objects.filter(company=company)
    return {**DEFAULT_LITRES_PER_HOUR, **{Stage(row.stage): row.litres_per_hour for row in own}}


def _compound_item(row: Compound) -> Item:
    return Item(
        key=f"compound:{row.pk}",
        name=row.name,
        unit="kg",
        sizes=tuple(row.pack_kg),
        prices=tuple(row.pack_prices),
        keeps_days=row.opened_days,
        lead_days=row.lead_days,
        awaited=row.awaited,
    )


def _supply_item(row: Supply) -> Item:
    return Item(
        key=f"supply:{row.pk}",
        name=row.name,
        unit=unit_of(row),
        sizes=tuple(row.packs),
        prices=tuple(row.pack_prices),
        keeps_days=None,
        lead_days=row.lead_days,
        awaited=row.awaited,
        used_per_unit=row.used_per_unit,
    )
