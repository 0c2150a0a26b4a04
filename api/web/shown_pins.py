"""The pins that weeks show on their visits."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from finishing.models import Company
from scheduling.models import Pin
from scheduling.move_wording import pinned_sentence
from scheduling.queries.pins import pins_to_come
from scheduling.queries.visits import Block


@dataclass(frozen=True)
class ShownPins:
    """Pins by the key of their task, as they count now."""

    by_key: Mapping[str, Pin]
    now: datetime

    def said(self, block: Block) -> str:
        """Say to what a visit's work is pinned; "" where it is not."""
        return pinned_sentence(block, self.by_key, self.now)


def shown_pins(company: Company, since: datetime, now: datetime) -> ShownPins:
    """Return the pins from a moment on, in one query."""
    return ShownPins({pin.key: pin for pin in pins_to_come(company, since)}, now)
