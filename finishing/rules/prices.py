"""What a company's hours, ways and late days cost: which price holds on which day, for whom.

Amounts are whole minor units of the company's money (cents); nothing here knows which.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class PriceKind(StrEnum):
    """What is paid for: a person's hour, one in extra hours, one on the way; a kilometre of a
    crew's way; a day that a handover is late."""

    HOUR = "hour"
    EXTRA_HOUR = "extra_hour"
    TRAVEL_HOUR = "travel_hour"
    TRAVEL_KM = "travel_km"
    LATE_DAY = "late_day"


OF_CREWS = frozenset(PriceKind) - {PriceKind.LATE_DAY}
"""What a crew may have its own price of; a late day may have one of its house."""
NEVER_FREE = frozenset({PriceKind.HOUR, PriceKind.EXTRA_HOUR})
"""Nobody works for nothing: a price of 0 would be taken for a figure."""
INSTEAD: Mapping[PriceKind, PriceKind] = {
    PriceKind.EXTRA_HOUR: PriceKind.HOUR,
    PriceKind.TRAVEL_HOUR: PriceKind.HOUR,
}
"""What an hour without a price of its own costs: as much as any other."""


@dataclass(frozen=True, slots=True)
class DatedPrice:
    """A price (minor units) that holds from a day on, until the next of its kind and owner.

    whose: the id of the crew or house that it is for; "" for all that have none of their own.
    """

    kind: PriceKind
    amount: int
    since: date
    whose: str = ""


class PriceList:
    """Prices of all kinds, of the company and of its crews and houses."""

    def __init__(self, prices: Iterable[DatedPrice]) -> None:
        self._steps: dict[tuple[str, str], list[DatedPrice]] = {}
        for price in sorted(prices, key=lambda price: price.since):
            self._steps.setdefault((price.kind, price.whose), []).append(price)

    def on(self, kind: PriceKind, day: date, whose: str = "") -> int | None:
        """Return what one costs on a day, in minor units; None where no price holds by then.

        A price of a crew or house (``whose``) goes before the company's, and any price of the kind
        before one that stands in for it (:data:`INSTEAD`). But everybody's price of an extra hour
        makes nobody's cheaper than the ordinary hours of a crew that has a price of its own.
        """
        own = self._latest(kind, day, whose)
        if own is not None:
            return own
        found = self._latest(kind, day, "")
        if found is None:
            return self.on(INSTEAD[kind], day, whose) if kind in INSTEAD else None
        if kind is PriceKind.EXTRA_HOUR and whose:
            return max(found, self._latest(PriceKind.HOUR, day, whose) or 0)
        return found

    def _latest(self, kind: PriceKind, day: date, whose: str) -> int | None:
        held = [p.amount for p in self._steps.get((kind, whose), ()) if p.since <= day]
        return held[-1] if held else None
