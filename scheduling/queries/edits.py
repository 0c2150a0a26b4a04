"""What has been edited of a house since a plan was made."""

from datetime import datetime

from django.db.models import QuerySet, Subquery
from django.db.models.functions import Coalesce

from finishing.models import Change, House
from scheduling.models import CompanyPlans, Plan, PlanRun

FOUND_THERE = (Change.What.READINESS, Change.What.CLOSURE, Change.What.HOUSE)
"""Edits of what crews find in a house, whatever its work."""


def edits_since(company: int, since: datetime | Subquery) -> QuerySet[Change]:
    """Return the edits of a company (pk) after a moment that a plan would have to know of; notes
    are none."""
    rows = Change.objects.filter(company_id=company, at__gt=since)
    return rows.exclude(what=Change.What.NOTE)


def read_at(plan: Plan) -> datetime:
    """Return when a plan read the houses it is of."""
    if plan.run_id is None:
        return plan.created_at
    runs = PlanRun.objects.filter(pk=plan.run_id)  # without its problem, which is large
    return runs.values_list("claimed_at", flat=True).first() or plan.created_at


def is_edited_since_planned(house: House) -> bool:
    """Return whether a house was edited since its company's working plan read it, in one query;
    False without a plan."""
    plans = CompanyPlans.objects.filter(company=house.company_id)
    read = plans.values(read_at=Coalesce("working__run__claimed_at", "working__created_at"))
    return edits_since(house.company_id, Subquery(read)).filter(house=house).exists()
