"""What plans cost, worked out once until prices change: plans never do."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from django.core.cache import cache

from finishing.models import Company
from finishing.rules.costs import Cost, total_of
from scheduling.models import Plan
from scheduling.models.run import without_large
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


def costs_beside(plans: Sequence[Plan], costs: Mapping[int, PlanCost]) -> dict[int, CostBeside]:
    """Return by pk what plans cost from the moment on from which all of them are made: what was
    over by then would be work that only some of them have. What is under way counts whole."""
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
    keys, kept = _kept(company, plans)
    if missing := [plan for plan in plans if plan.pk not in kept]:
        new = Pricing(company).of_all(missing)
        cache.set_many({keys[pk]: cost for pk, cost in new.items()}, KEPT_FOR_S)
        kept |= new
    return kept


def kept_costs(company: Company, plans: Sequence[Plan]) -> dict[int, PlanCost] | None:
    """Return what ``plan_costs`` does, None where it would have to work any of it out."""
    _, kept = _kept(company, plans)
    return kept if len(kept) == len(plans) else None


def find_costs(*, company: Company, of: tuple[int, ...], now: datetime) -> None:  # noqa: ARG001
    """Work out what plans (pk), those of scenarios among them, cost, so that it is kept."""
    plans = Plan.with_scenarios.filter(company=company, pk__in=of)
    plan_costs(company, list(plans.select_related("run").defer(*without_large("run"))))


def _kept(company: Company, plans: Sequence[Plan]) -> tuple[dict[int, str], dict[int, PlanCost]]:
    """Return by pk of plans where what each costs is kept, and what is."""
    state = sha256(price_state(company).encode()).hexdigest()
    keys = {plan.pk: f"plan_cost:{company.public_id}:{plan.pk}:{state}" for plan in plans}
    found = cache.get_many(keys.values())
    return keys, {pk: found[key] for pk, key in keys.items() if key in found}
