"""Which dryers stand in a house when: those kept there, and those that a plan sets down there."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from finishing.models import Dryer, House
from scheduling.models import Plan
from scheduling.services.dryer_stays import stay_rows


@dataclass(frozen=True)
class DryerStay:
    """Dryers of one kind in a house; no moments: they stand there all the time. flame: they burn
    something."""

    name: str
    count: int
    set_at: datetime | None = None
    collect_at: datetime | None = None
    flame: bool = False


def dryers_standing(house: House, plan: Plan | None) -> tuple[DryerStay, ...]:
    """Return the stays of dryers in a house, those kept there first."""
    kept = Dryer.objects.filter(company=house.company_id, house=house, is_active=True)
    return (
        *(DryerStay(row.name, row.count, flame=row.flame) for row in kept),
        *_planned(house, plan),
    )


def _planned(house: House, plan: Plan | None) -> Iterator[DryerStay]:
    for row in stay_rows(plan):
        if row["house_id"] == str(house.public_id):
            set_at, collect_at = (
                datetime.fromisoformat(row[moment]) for moment in ("set_at", "collect_at")
            )
            yield DryerStay(row["name"], 1, set_at, collect_at)
