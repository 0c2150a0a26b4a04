"""The demo's invented weeks: enough for the pages that look back, the same however often loaded."""

import pytest

from finishing.models import House
from finishing.rules.vocabulary import Stage
from finishing.services.demo import load_demo
from scheduling.models import PlanRun, Scenario, Visit
from scheduling.services.demo_history import make_up_history
from scheduling.services.demo_scenario import ask_what_if
from scheduling.services.forget import forget_plans
from scheduling.services.looking_back import first_of_months, look_back
from scheduling.services.rate_offers import rate_offers
from tests.factories import make_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


def test_there_is_something_to_look_back_at() -> None:
    company = load_demo(today=MONDAY.date())
    for _ in range(2):
        make_up_history(company=company, now=MONDAY)
    assert House.objects.filter(company=company, is_active=False).count() == 1
    assert Visit.objects.filter(company=company).count() == 24
    offers = rate_offers(company=company, now=MONDAY).offers
    assert {offer.stage for offer in offers} == {
        Stage.TAPE,
        Stage.SECOND,
        Stage.FINISH,
        Stage.SAND,
    }
    assert all(offer.found.jobs == 6 for offer in offers)
    first = first_of_months(company, 3, MONDAY)
    found = look_back(company=company, first=first, now=MONDAY)
    assert sum(sum(row.lost.values()) for row in found.months) > 0
    assert sum(one.wet for one in found.waits) > 0


def test_a_scenario_waits_to_be_planned_and_goes_with_the_plans() -> None:
    company = load_demo(today=MONDAY.date())
    for _ in range(2):
        forget_plans(company=company)
        ask_what_if(company=company, now=MONDAY, seconds=2, seed=1, work=None)
    scenario = Scenario.objects.get(company=company)
    assert len(scenario.changes[0]["crews"]) == 3
    run = PlanRun.all_kinds.get(company=company)
    assert (run.scenario, run.status) == (scenario, PlanRun.Status.QUEUED)


def test_no_real_company_gets_any() -> None:
    company = make_company()
    with pytest.raises(ValueError, match="is no demo"):
        make_up_history(company=company, now=MONDAY)
    with pytest.raises(ValueError, match="is no demo"):
        ask_what_if(company=company, now=MONDAY, seconds=2, seed=1, work=None)
