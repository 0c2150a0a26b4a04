"""Costs of plans beside each other are of the same work, and of the prices as they are now."""

from datetime import timedelta

import pytest

from finishing.models import Price
from scheduling.services.kept_costs import costs_beside
from tests.plans import plan_cost
from tests.scheduling.services.test_plan_cost import planned
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db


def test_what_is_over_when_the_newer_of_two_plans_begins_counts_in_neither() -> None:
    company, _ = make_site()
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    older, newer = planned(company), planned(company)
    assert newer.run is not None
    costs = [visit.cost.total for one in plan_cost(older).houses for visit in one.visits]
    assert costs_beside(company, [older, newer])[older.pk].total == sum(costs)
    first = plan_cost(older).houses[0].visits[0]
    newer.run.plan_from = first.ends_at
    assert costs_beside(company, [older, newer])[older.pk].total == sum(costs) - first.cost.total
    newer.run.plan_from = first.ends_at - timedelta(minutes=5)
    assert costs_beside(company, [older, newer])[older.pk].total == sum(costs)
