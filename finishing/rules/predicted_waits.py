"""How well predicted waits matched what crews found: looks at coats by how long after the
predicted hour they came.

Were predictions exact, no look after that hour would find a coat wet. A look before it says
little of the prediction, and has a class of its own.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import inf, isnan

MARGINS_HOURS = (-inf, 0.0, 2.0, 8.0, 24.0, inf)
"""Ends of the classes, hours after the predicted one; each begins where the one before ends."""


@dataclass(frozen=True, slots=True)
class CoatLook:
    """A crew came to go over a coat. margin_hours: since the hour at which it was predicted to be
    ready; below 0 before it. wet: whether it was found not dry."""

    margin_hours: float
    wet: bool


@dataclass(frozen=True, slots=True)
class MarginClass:
    """Looks from ``low`` hours after the predicted one to before ``high``, and how many found the
    coat wet."""

    low: float
    high: float
    looks: int
    wet: int

    @property
    def wet_share(self) -> float | None:
        """None where nobody looked."""
        return self.wet / self.looks if self.looks else None


def by_margin(looks: Iterable[CoatLook]) -> list[MarginClass]:
    """Return all classes in order. Raises ValueError for a margin that is no number."""
    found = list(looks)
    if any(isnan(look.margin_hours) for look in found):
        raise ValueError("a look without an hour")
    return [
        MarginClass(low, high, len(inside), sum(look.wet for look in inside))
        for low, high in pairwise(MARGINS_HOURS)
        for inside in [[look for look in found if low <= look.margin_hours < high]]
    ]
