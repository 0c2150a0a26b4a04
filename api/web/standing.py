"""Where a company's planning stands: what the office works on and what the crews see."""

from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Subquery

from finishing.models import Company, House
from scheduling.models import CompanyPlans, Plan, Publication
from scheduling.models.run import without_large
from scheduling.wording import Codes, handover_sentence, hold_sentence, moment


@dataclass(frozen=True)
class Standing:
    """The working plan, and the revision that crews see."""

    plan: Plan | None
    differs: bool
    revision: int | None
    published_at: str


def company_standing(company: Company) -> Standing:
    """Return where the company stands, in one query."""
    newest = Publication.objects.filter(company=OuterRef("company")).order_by("-revision")
    rows = CompanyPlans.objects.filter(company=company).select_related("working__run")
    rows = rows.defer(*without_large("working__run")).annotate(
        revision=Subquery(newest.values("revision")[:1]),
        published_at=Subquery(newest.values("published_at")[:1]),
    )
    plans = rows.first()
    if plans is None:
        return Standing(None, differs=False, revision=None, published_at="")
    at = plans.published_at
    return Standing(
        plan=plans.working,
        differs=plans.working_id != plans.published_id,
        revision=plans.revision,
        published_at=moment(at, ZoneInfo(company.zone)) if at else "",
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
