"""What has been edited of a house since a plan was made."""

from datetime import datetime

from django.db.models import QuerySet

from finishing.models import Change, House
from scheduling.models import Plan, PlanRun

FOUND_THERE = (Change.What.READINESS, Change.What.CLOSURE, Change.What.HOUSE)
"""Edits of what crews find in a house, whatever its work."""


def edits_since(company: int, since: datetime) -> QuerySet[Change]:
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


def is_edited_since(plan: Plan | None, house: House) -> bool:
    """Return whether a house was edited since a plan read it; False without a plan."""
    if plan is None:
        return False
    return edits_since(plan.company_id, read_at(plan)).filter(house=house).exists()
