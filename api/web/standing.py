"""Where a company's planning stands: what the office works on and what the crews see."""

from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from finishing.models import Company, House
from scheduling.models import CompanyPlans, Plan, Publication
from scheduling.models.run import without_large
from scheduling.queries.plans import latest_publication
from scheduling.wording import Codes, handover_sentence, hold_sentence, moment


@dataclass(frozen=True)
class Standing:
    """The working plan, and the revision that crews see."""

    plan: Plan | None
    differs: bool
    revision: int | None
    published_at: str


def company_standing(company: Company) -> Standing:
    """Return where the company stands, in two queries."""
    return standing_since(company, latest_publication(company))


def standing_since(company: Company, last: Publication | None) -> Standing:
    """Return where the company stands, in one query. last: its last publication."""
    rows = CompanyPlans.objects.filter(company=company).select_related("working__run")
    plans = rows.defer(*without_large("working__run")).first()
    return Standing(
        plan=plans.working if plans else None,
        differs=plans is not None and plans.working_id != plans.published_id,
        revision=last.revision if last else None,
        published_at=moment(last.published_at, ZoneInfo(company.zone)) if last else "",
    )


def warnings(plan: Plan | None, houses: Iterable[House]) -> list[str]:
    """Say which promises of these houses the plan does not keep, then what it leaves out."""
    if plan is None:
        return []
    by_name = {house.name: house for house in houses}
    missed = [
        handover_sentence(item, ZoneInfo(house.zone))
        for house in by_name.values()
        for item in promises(plan, house)
        if is_missed(item)
    ]
    return missed + [hold_sentence(hold) for hold in plan.holds if hold["house"] in by_name]


def promises(plan: Plan, house: House) -> list[Codes]:
    """Return the plan's handovers of a house, the earliest due first."""
    mine = [item for item in plan.handovers if item["house_id"] == str(house.public_id)]
    return sorted(mine, key=lambda item: str(item["due_on"]))


def is_missed(item: Codes) -> bool:
    """Return whether a handover is met late or not at all."""
    return bool(item["state"] == "held" or item["late_minutes"] > 0)
