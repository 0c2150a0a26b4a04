"""The main path on PostgreSQL and Redis, by the commands and processes that a site has."""

from urllib.parse import urlsplit

import icalendar
import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from finishing.services.demo import load_demo
from scheduling import jobs
from scheduling.models import CompanyPlans, PlanRun, Visit
from scheduling.queries.links import links_of_company
from scheduling.queries.plans import latest_publication
from scheduling.services.links import feed_address
from tests.production.servers import await_that
from tests.production.stack import Stack
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.services

RUN_WITHIN_S = 120.0


def test_the_demo_company_is_planned_and_published_and_its_calendars_fetched(stack: Stack) -> None:
    company = load_demo(today=timezone.localdate())
    stack.manage("replan", "--company", company.name, "--work", "1")
    stack.manage("publish", "--company", company.name)
    assert connection.vendor == "postgresql"
    publication = latest_publication(company)
    assert publication is not None
    assert publication.revision == 1
    addresses = [feed_address(link) for link in links_of_company(company)]
    assert addresses
    told: set[str] = set()
    for address in addresses:
        answer = Client().get(urlsplit(address).path)
        assert answer.status_code == 200, address
        events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
        told |= {str(event["UID"]) for event in events}
    uids = {str(uid) for uid in Visit.objects.values_list("uid", flat=True)}
    assert uids
    assert uids <= told


def test_a_worker_that_a_message_reaches_makes_the_plan(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.AFRESH_SECONDS", 0.1)
    company, _ = make_site()
    with stack.worker():
        run = jobs.request_replan(company=company, now=MONDAY)
        await_that(lambda: is_over(run), "the worker is done with the run", RUN_WITHIN_S)
    run.refresh_from_db()
    assert (run.status, run.error) == ("done", "")
    assert CompanyPlans.objects.get(company=company).working == run.plans.get()


def is_over(run: PlanRun) -> bool:
    run.refresh_from_db()
    return run.status in (PlanRun.Status.DONE, PlanRun.Status.FAILED)
