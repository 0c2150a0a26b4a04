"""Costs of plans beside each other are of the same work, and of the prices as they are now."""

from datetime import timedelta

import pytest

from finishing.models import Company, Price
from scheduling.models import Plan
from scheduling.queries.visits import plan_blocks
from scheduling.services.adopt_scenario import adopt_scenario
from scheduling.services.kept_costs import CostBeside, costs_beside, plan_costs
from tests.plans import plan_cost, published_from
from tests.scenarios import planned_for, scenario_with
from tests.scheduling.services.test_plan_cost import planned
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db


def beside(plans: list[Plan]) -> dict[int, CostBeside]:
    return costs_beside(plans, plan_costs(plans[0].company, plans))


def test_what_is_over_when_the_newer_of_two_plans_begins_counts_in_neither() -> None:
    company, _ = make_site()
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    older, newer = planned(company), planned(company)
    assert newer.run is not None
    costs = [visit.cost.total for one in plan_cost(older).houses for visit in one.visits]
    assert beside([older, newer])[older.pk].cost.total == sum(costs)
    first = plan_cost(older).houses[0].visits[0]
    newer.run.plan_from = first.ends_at
    cut = beside([older, newer])[older.pk]
    assert (cut.cost.total, cut.in_all.total) == (sum(costs) - first.cost.total, sum(costs))
    assert (cut.since, cut.in_all_since) == (first.ends_at, MONDAY)
    newer.run.plan_from = first.ends_at - timedelta(minutes=5)
    assert beside([older, newer])[older.pk].cost.total == sum(costs)


def worked_on_in_the_evening() -> tuple[Company, Plan]:
    """A scenario's plan of a Monday, the working plan since a visit of that day was over."""
    company, _ = make_site(rooms=("Hall", "Kitchen", "Landing"))
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    told = published_from(company, MONDAY)
    scenario = scenario_with(company)
    planned_for(scenario)
    over = min(block.ends_at for block in plan_blocks(told)) + timedelta(minutes=5)
    plan = adopt_scenario(scenario=scenario, version=scenario.version, by=None, now=over)
    return company, plan


def test_a_plan_that_was_a_scenarios_costs_the_same_alone_and_beside_others() -> None:
    _, plan = worked_on_in_the_evening()
    assert plan.run is not None
    over = [block for block in plan_blocks(plan) if block.ends_at <= plan.run.plan_from]
    assert over, "it has a visit that was over when it became the working plan"
    visits = [visit for one in plan_cost(plan).houses for visit in one.visits]
    assert len(visits) == len(plan_blocks(plan)) - len(over)
    alone = beside([plan])[plan.pk]
    assert alone.cost.total == alone.in_all.total == sum(visit.cost.total for visit in visits)
