"""What plans cost, worked out once until prices change: plans never do."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from django.core.cache import cache

from finishing.models import Company
from finishing.rules.costs import Cost, total_of
from scheduling.models import Plan
from scheduling.queries.row_state import price_state
from scheduling.services.plan_cost import PlanCost, Pricing, counts, paid_since

KEPT_FOR_S = 24 * 60 * 60


def plan_cost(plan: Plan) -> PlanCost:
    """Return what a stored plan costs at the company's prices as they are now."""
    return plan_costs(plan.company, [plan])[plan.pk]


@dataclass(frozen=True)
class CostBeside:
    """What a plan costs beside others since a moment, and in all since its own (None: always)."""

    cost: Cost
    since: datetime | None
    in_all: Cost
    in_all_since: datetime | None


def costs_beside(company: Company, plans: Sequence[Plan]) -> dict[int, CostBeside]:
    """Return by pk what plans cost from the moment on from which all of them are made: what was
    over by then would be work that only some of them have. What is under way counts whole."""
    costs = plan_costs(company, plans)
    since = max(filter(None, map(paid_since, plans)), default=None)
    return {
        plan.pk: CostBeside(
            total_of(cost for until, cost in costs[plan.pk].dated() if counts(until, since)),
            since,
            costs[plan.pk].cost,
            paid_since(plan),
        )
        for plan in plans
    }


def plan_costs(company: Company, plans: Sequence[Plan]) -> dict[int, PlanCost]:
    """Return by pk what plans of a company cost; in one query where it is kept."""
    state = sha256(price_state(company).encode()).hexdigest()
    keys = {plan.pk: f"plan_cost:{company.public_id}:{plan.pk}:{state}" for plan in plans}
    kept = cache.get_many(keys.values())
    if missing := [plan for plan in plans if keys[plan.pk] not in kept]:
        new = {keys[pk]: cost for pk, cost in Pricing(company).of_all(missing).items()}
        cache.set_many(new, KEPT_FOR_S)
        kept |= new
    return {pk: kept[key] for pk, key in keys.items()}
