"""What crews have been told, to compare before and after a fault."""

from typing import Any
from urllib.parse import urlsplit

from django.test import Client

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, PlannedTask, Publication, Visit
from scheduling.queries.links import links_of_company
from scheduling.services.links import feed_address
from scheduling.services.publish import publish_plan
from tests.plans import first_plan
from tests.sites import MONDAY, make_site


def told(company: Company) -> list[Any]:
    """Return the published plan with its tasks, publications, visits, the bytes of calendars."""
    plan = CompanyPlans.objects.get(company=company).published
    assert plan is not None
    rows = [
        Plan.objects.filter(pk=plan.pk),
        PlannedTask.objects.filter(plan=plan),
        Publication.objects.filter(company=company),
        Visit.objects.filter(company=company),
    ]
    feeds = [fetched(feed_address(link)) for link in links_of_company(company)]
    return [*(list(of_one.order_by("pk").values()) for of_one in rows), feeds]


def fetched(address: str) -> bytes:
    """Return a calendar's bytes, read as its subscribers read it."""
    answer = Client().get(urlsplit(address).path)
    assert answer.status_code == 200
    return bytes(answer.content)


def told_company(name: str = "Test Finishing", *, rooms: tuple[str, ...] = ("Hall",)) -> Company:
    """A company whose crews have been told its first plan, with a calendar of each."""
    company, _ = make_site(name=name, rooms=rooms)
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    return company
