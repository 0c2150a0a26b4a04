"""What plans cost, on pages that are shown before that is worked out."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from finishing.models import Company
from scheduling.jobs import costs_for_page
from scheduling.models import Plan
from scheduling.services.kept_answers import NotYetError
from scheduling.services.plan_cost import PlanCost


def costs_or_none(
    company: Company, plans: Sequence[Plan], *, now: datetime
) -> Mapping[int, PlanCost] | None:
    """Return by pk what plans of a company cost; None while somebody works that out."""
    try:
        return costs_for_page(company, plans, now=now)
    except NotYetError:
        return None
