"""The list of houses, and the promises made for each."""

from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from api.web.standing import Standing, company_standing, is_missed, promises, warnings
from api.web.visits import house_tint
from finishing.models import Company, House
from finishing.queries.houses import by_handover
from scheduling.models import Plan
from scheduling.wording import chain_sentence, listed, moment


@dataclass(frozen=True)
class Handover:
    """A promise: what is due when, when it is met on the house's clock, and whether late;
    for a late one why, one sentence a task, the last task first."""

    areas: str
    due_on: date
    met_at: str
    done: bool
    late: bool
    why_late: list[str]


@dataclass(frozen=True)
class HouseLine:
    """A house with its promises and when the working plan keeps them."""

    house: House
    tint: int
    handovers: list[Handover]


@dataclass(frozen=True)
class HouseList:
    """All that the page shows."""

    standing: Standing
    lines: list[HouseLine]
    warnings: list[str]


def house_list(company: Company) -> HouseList:
    """Return the company's houses by handover, in three queries."""
    standing = company_standing(company)
    plan = standing.plan
    houses = by_handover(House.objects.filter(company=company))
    return HouseList(
        standing=standing,
        lines=[HouseLine(house, house_tint(house), handovers(plan, house)) for house in houses],
        warnings=warnings(plan, houses),
    )


def handovers(plan: Plan | None, house: House) -> list[Handover]:
    """Return the promises made for a house, the earliest due first."""
    zone = ZoneInfo(house.zone)
    return [
        Handover(
            areas=listed(list(item["areas"])),
            due_on=date.fromisoformat(item["due_on"]),
            met_at=moment(item["met_at"], zone) if item["met_at"] else "",
            late=is_missed(item),
            done=item["state"] == "done",
            why_late=[chain_sentence(link, zone) for link in item.get("chain", [])],
        )
        for item in (promises(plan, house) if plan else [])
    ]
