"""What crews found wet in a house, and what it comes to."""

from dataclasses import dataclass
from datetime import datetime

from finishing.rules.thickness import FoundWet, Thickness, thickness
from scheduling.models import Report


@dataclass(frozen=True)
class CoatLook:
    """A report of a coat found wet, with what was predicted of the coat. One that is set aside
    does not count."""

    report: Report
    found: FoundWet


@dataclass(frozen=True)
class HouseLooks:
    """Looks at a house's coats by time. since: when the look was that first made all its coats
    slow; None where they are not."""

    looks: tuple[CoatLook, ...]
    thickness: Thickness
    since: datetime | None


NO_LOOKS = HouseLooks((), thickness([]), None)
