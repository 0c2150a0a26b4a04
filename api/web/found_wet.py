"""What crews found wet in a house, as its page tells it."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from finishing.models import House
from scheduling.services.shown_looks import ShownLooks
from scheduling.thickness_wording import factor_sentence, look_sentence


@dataclass(frozen=True)
class FoundWet:
    """A sentence for each report, and one for what they come to."""

    looks: list[str]
    comes_to: str


def found_wet_part(house: House, shown: ShownLooks) -> FoundWet:
    """Return what was found wet."""
    zone = ZoneInfo(house.zone)
    sentences = [look_sentence(look, zone) for look in shown.looks]
    return FoundWet(sentences, factor_sentence(shown, zone))
