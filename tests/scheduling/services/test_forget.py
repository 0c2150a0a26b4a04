"""The demo company starts afresh whatever was planned for it."""

import pytest

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, PlanRun, Scenario
from scheduling.services.forget import NotADemoError, forget_plans
from tests.plans import published_from
from tests.quotes import asked_for, quote_like
from tests.scenarios import planned_for, scenario_with
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db


def test_a_planned_scenario_and_the_run_of_a_quote_go_with_the_plans() -> None:
    company, house = make_site()
    published_from(company, MONDAY)
    planned_for(scenario_with(company))
    asked_for(quote_like(house))
    with pytest.raises(NotADemoError):
        forget_plans(company=company)
    Company.objects.filter(pk=company.pk).update(is_demo=True)
    company.refresh_from_db()
    forget_plans(company=company)
    for rows in (CompanyPlans.objects, Plan.with_scenarios, PlanRun.all_kinds, Scenario.objects):
        assert not rows.exists()
