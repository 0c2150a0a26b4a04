"""What a visit costs: its people's hours, their way there, what they use up; rounded once, to whole
minor units of money, so that what visits cost adds up to what a house and a plan cost."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from fractions import Fraction

from finishing.rules.prices import PriceKind, PriceList

UNPRICED_MATERIAL = "material"
"""In :attr:`Cost.unpriced`, beside kinds of prices and of supplies: with a colon and its name a
compound that has no price."""

PART_OF: Mapping[str, str] = {
    PriceKind.HOUR: "labour",
    PriceKind.EXTRA_HOUR: "extra",
    PriceKind.TRAVEL_HOUR: "travel",
    PriceKind.TRAVEL_KM: "travel",
    PriceKind.LATE_DAY: "late",
}
"""The part of a cost that a price goes into; prices of packs go into the material."""


@dataclass(frozen=True, slots=True)
class Cost:
    """Whole minor units of money, by what they are for.

    labour, extra: people's hours, ordinary and extra. travel: hours and kilometres on the way.
    material: of what is used up its share of a pack. dryers: days that they stand. late: days that
    handovers are late. unpriced: what was needed and has no price, so that it counts as 0.
    """

    labour: int = 0
    extra: int = 0
    travel: int = 0
    material: int = 0
    dryers: int = 0
    late: int = 0
    unpriced: frozenset[str] = frozenset()

    @property
    def total(self) -> int:
        return sum(getattr(self, name) for name in PARTS)

    @property
    def unpriced_parts(self) -> frozenset[str]:
        """The parts of which something has no price."""
        return frozenset(PART_OF.get(code, "material") for code in self.unpriced)

    def __add__(self, other: "Cost") -> "Cost":
        parts = {name: getattr(self, name) + getattr(other, name) for name in PARTS}
        return Cost(**parts, unpriced=self.unpriced | other.unpriced)


PARTS = tuple(one.name for one in fields(Cost) if one.name != "unpriced")
"""What a cost is made of, in the order in which it is read."""


@dataclass(frozen=True, slots=True)
class Hours:
    """So many minutes of so many people on a day, in a crew's ordinary or its extra hours."""

    day: date
    minutes: int
    heads: int
    is_extra: bool = False

    @property
    def person_minutes(self) -> int:
        return self.minutes * self.heads


@dataclass(frozen=True, slots=True)
class Way:
    """A crew's way to a visit: minutes for each of its people, km of one vehicle."""

    day: date
    minutes: int
    heads: int
    km: float = 0.0


@dataclass(frozen=True, slots=True)
class VisitWork:
    """What of a visit is paid for. crew: its id. material: what is used up, at its price in
    (fractions of) minor units; unpriced: what of it has no price, as in :attr:`Cost.unpriced`."""

    crew: str
    hours: tuple[Hours, ...]
    ways: tuple[Way, ...] = ()
    material: Fraction = Fraction(0)
    unpriced: frozenset[str] = frozenset()


def total_of(costs: Iterable[Cost]) -> Cost:
    """Return the sum of costs; nothing for none."""
    return sum(costs, Cost())


def rounded(exact: Fraction) -> int:
    """Return the nearest whole minor unit, a half up."""
    return int((exact + Fraction(1, 2)).__floor__())


def visit_cost(visit: VisitWork, prices: PriceList) -> Cost:
    """Return what a visit costs, each part rounded once."""
    bill = _Bill(prices, visit.crew)
    for hours in visit.hours:
        kind = PriceKind.EXTRA_HOUR if hours.is_extra else PriceKind.HOUR
        bill.add(kind, hours.day, Fraction(hours.person_minutes, 60))
    for way in visit.ways:
        bill.add(PriceKind.TRAVEL_HOUR, way.day, Fraction(way.minutes * way.heads, 60))
        bill.add(PriceKind.TRAVEL_KM, way.day, Fraction(way.km), is_needed=False)
    bill.exact["material"] = visit.material
    bill.unpriced |= visit.unpriced
    return bill.cost()


def late_cost(days: int, due_on: date, house: str, prices: PriceList) -> Cost:
    """Return what a handover costs that is so many begun days late, at the price of its day."""
    if days <= 0:
        return Cost()
    price = prices.on(PriceKind.LATE_DAY, due_on, house)
    if price is None:
        return Cost(unpriced=frozenset({PriceKind.LATE_DAY.value}))
    return Cost(late=days * price)


@dataclass
class _Bill:
    """Exact amounts by part, until all of a visit is on it."""

    prices: PriceList
    crew: str
    exact: dict[str, Fraction] = field(default_factory=dict)
    unpriced: set[str] = field(default_factory=set)

    def add(
        self, kind: PriceKind, day: date, quantity: Fraction, *, is_needed: bool = True
    ) -> None:
        """Add a quantity at its price; without one it is unpriced where it ``is_needed``."""
        price = self.prices.on(kind, day, self.crew)
        if price is not None:
            part = PART_OF[kind]
            self.exact[part] = self.exact.get(part, Fraction(0)) + quantity * price
        elif is_needed and quantity:
            self.unpriced.add(kind.value)

    def cost(self) -> Cost:
        parts = {part: rounded(exact) for part, exact in self.exact.items()}
        return Cost(**parts, unpriced=frozenset(self.unpriced))
