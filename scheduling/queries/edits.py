"""What has been edited of a house since a plan was made."""

from datetime import datetime

from django.db.models import QuerySet

from finishing.models import Change, House
from scheduling.models import Plan

FOUND_THERE = (Change.What.READINESS, Change.What.CLOSURE, Change.What.HOUSE)
"""Edits of what crews find in a house, whatever its work."""


def edits_since(company: int, since: datetime) -> QuerySet[Change]:
    """Return the edits of a company (pk) after a moment that a plan would have to know of; notes
    are none."""
    rows = Change.objects.filter(company_id=company, at__gt=since)
    return rows.exclude(what=Change.What.NOTE)


def read_at(plan: Plan) -> datetime:
    """Return when a plan read the houses it is of."""
    run = plan.run
    return run.claimed_at if run and run.claimed_at else plan.created_at


def is_edited_since(plan: Plan | None, house: House) -> bool:
    """Return whether a house was edited since a plan read it; False without a plan."""
    if plan is None:
        return False
    return edits_since(plan.company_id, read_at(plan)).filter(house=house).exists()
