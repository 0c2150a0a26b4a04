"""What is left of the problems of runs that are long over, and of which none is cut."""

import re
from datetime import timedelta

import pytest
from django.db.models import QuerySet
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from finishing.models import Company, Price
from finishing.models.user import Role, User
from scheduling.models import Plan, PlanRun
from scheduling.queries.runs import PAID_TIME
from scheduling.services import cut_problems as cutting
from scheduling.services.cut_problems import cut_problems
from scheduling.services.publish import publish_plan
from scheduling.services.since_published import since_published
from scheduling.services.take_back import take_back
from tests.plans import first_plan, plan_cost
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

LATER = MONDAY + timedelta(days=30)


def planned(company: Company, *, minutes: int, published: bool = True) -> Plan:
    """A plan of a run that is over, made and published so many minutes after the first."""
    moment = MONDAY + timedelta(minutes=minutes)
    plan = first_plan(company, moment)
    of_run(plan).update(finished_at=moment)
    if published:
        publish_plan(company=company, now=moment)
    return plan


def of_run(plan: Plan) -> QuerySet[PlanRun]:
    return PlanRun.objects.filter(plans=plan)


def whole(*plans: Plan) -> list[bool]:
    """Return of each plan whether the problem that it was made for says how coats dry."""
    return ["curves" in of_run(plan).get().problem for plan in plans]


def shown(client: Client, plan: Plan) -> tuple[object, ...]:
    """What is shown of the run of a plan: by its page, by the API, of what the plan costs."""
    assert plan.run is not None
    page = client.get(reverse("web:run", args=[plan.run.public_id]))
    over_the_api = client.get(f"/api/v1/runs/{plan.run.public_id}/")
    assert (page.status_code, over_the_api.status_code) == (200, 200)
    content = re.sub(rb'(name="csrfmiddlewaretoken" value=)"\w+"', rb"\1", page.content)
    return content, over_the_api.json(), over_the_api.headers["ETag"], plan_cost(plan)


def test_an_old_run_keeps_what_is_shown_of_it_and_what_is_in_use_is_whole(client: Client) -> None:
    company, _ = make_site()
    Price.objects.create(company=company, kind="hour", amount=4000, since=MONDAY.date())
    email = "planner@example.com"
    client.force_login(User.objects.create(email=email, company=company, role=Role.PLANNER))
    first, second, third = (planned(company, minutes=minutes) for minutes in (0, 1, 2))
    over = planned(company, minutes=3, published=False)
    working = planned(company, minutes=4, published=False)
    plans = first, second, third, over, working
    before = shown(client, first)
    assert cut_problems(now=LATER) == 0, "none is older than 30 days"
    assert cut_problems(now=LATER + timedelta(hours=1)) == 2
    assert whole(*plans) == [False, True, True, False, True]
    assert cut_problems(now=LATER + timedelta(hours=1)) == 0
    assert shown(client, first) == before
    rows = of_run(first)
    assert rows.get().problem.keys() <= {*PAID_TIME}
    rows.update(problem={})
    assert before[-1] != plan_cost(first), "what it costs comes from what is left"
    take_back(company=company, revision=3, now=MONDAY + timedelta(minutes=5))
    assert since_published(company=company, now=MONDAY + timedelta(minutes=6)) is not None


def test_so_many_at_once_after_as_many_days_as_are_set(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.RUN_PROBLEM_DAYS = 2
    monkeypatch.setattr(cutting, "MOST_AT_ONCE", 1)
    company, _ = make_site()
    plans = [planned(company, minutes=minutes, published=False) for minutes in (0, 1, 2)]
    over = MONDAY + timedelta(days=2, hours=1)
    assert whole(*plans) == [True, True, True]
    assert cut_problems(now=over) == 1
    assert whole(*plans) == [False, True, True]
    assert [cut_problems(now=over), cut_problems(now=over)] == [1, 0]
