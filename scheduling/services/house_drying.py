"""How a house dries, all of it, for a page: it takes a moment to work out."""

from dataclasses import dataclass
from datetime import datetime

from finishing.models import Company, House
from scheduling.services.house_curves import HouseCurves, curves_and_work
from scheduling.services.shown_looks import ShownLooks, looks_to_show
from scheduling.services.water_answers import WaterAnswers, water_answers


@dataclass(frozen=True)
class HouseDrying:
    """curves: None where no air is known for the house; looks: what crews found wet in it, None for
    nothing; water: still to come."""

    curves: HouseCurves | None
    looks: ShownLooks | None
    water: WaterAnswers


def house_drying(*, company: Company, of: tuple[int, ...], now: datetime) -> HouseDrying:
    """Return how a house (``of``: its pk alone) dries by what is known at ``now``."""
    house = House.objects.select_related("company").get(company=company, pk=of[0])
    curves, done = curves_and_work(company=company, house=house, now=now)
    return HouseDrying(
        curves=curves,
        looks=looks_to_show(house=house, now=now),
        water=water_answers(house=house, now=now, done=done),
    )
