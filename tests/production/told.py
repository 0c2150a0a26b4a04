"""What crews have been told, to compare before and after a fault."""

import threading
from typing import Any
from unittest.mock import patch
from urllib.parse import urlsplit

from django.test import Client

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, PlannedTask, Publication, Visit
from scheduling.queries.links import links_of_company
from scheduling.queries.plans import working_plan
from scheduling.services.links import feed_address
from scheduling.services.publish import publish_plan
from tests.factories import local, make_company, make_crew, make_house, make_plan, task
from tests.plans import first_plan
from tests.sites import MONDAY, make_site

CLOCK = threading.Lock()
"""Of two threads that set it at once, one would leave the other's behind for good."""
SUNDAY = local("2026-03-01 18:00")


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
    """Return a calendar's bytes as its subscribers read it on the Monday that is planned from:
    calendars leave out what is long past."""
    with CLOCK, patch("api.feeds.views.timezone.now", return_value=MONDAY):
        answer = Client().get(urlsplit(address).path)
    assert answer.status_code == 200
    assert b"BEGIN:VEVENT" in answer.content
    return bytes(answer.content)


def told_company(name: str = "Test Finishing", *, rooms: tuple[str, ...] = ("Hall",)) -> Company:
    """A company whose crews have been told its first plan, with a calendar of each."""
    company, _ = make_site(name=name, rooms=rooms)
    first_plan(company)
    publish_plan(company=company, now=MONDAY)
    return company


def told_and_planned_anew(name: str = "Test Finishing") -> Company:
    """A company with two visits told, and a plan to publish that moves one, calls one off and adds
    one."""
    company = make_company(name)
    crew, house = make_crew(company), make_house(company, rooms=("Hall", "Kitchen", "Landing"))
    told_of = {"Hall": "2026-03-02 08:00", "Kitchen": "2026-03-03 08:00"}
    anew = {"Hall": "2026-03-04 08:00", "Landing": "2026-03-05 08:00"}
    for places in (told_of, anew):
        if working_plan(company):
            publish_plan(company=company, now=SUNDAY)
        make_plan(company, [task(crew, house, at, room=room) for room, at in places.items()])
    return company
