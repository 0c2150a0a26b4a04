"""Every address that shows something of a company: pages, a crew's page, calendars, lists."""

from urllib.parse import urlsplit

from api.rest.urls import rows
from finishing.models import Company, Crew, House
from scheduling.models import PlanRun
from scheduling.queries.links import links_of_company, pages_of
from scheduling.queries.plans import working_plan
from scheduling.services.link_secrets import secret_of
from scheduling.services.links import feed_address
from tests.api.every_page import MORE_PAGES, PAGES, Shown, address_of


def shown_of(company: Company) -> Shown:
    """Return the rows that a company's pages are looked at with."""
    plan = working_plan(company)
    assert plan is not None
    task = plan.tasks.order_by("-starts_at")[0]
    crew = Crew.objects.get(pk=task.crew_id)
    secret = secret_of(pages_of([crew])[crew.pk])
    assert secret is not None
    run = PlanRun.objects.filter(company=company).order_by("-pk")[0]
    return Shown(company, House.objects.get(pk=task.house_id), crew, run, task.public_id, secret)


def every_answer(shown: Shown) -> dict[str, str]:
    """Return addresses by what they are called."""
    pages = {page: address_of(page, shown) for page in (*PAGES, *MORE_PAGES)}
    lists = {f"list of {name}": f"/api/v1/{name}/" for name, *_ in rows.registry}
    feeds = {
        f"calendar of {link.kind}": urlsplit(feed_address(link)).path
        for link in links_of_company(shown.company)
    }
    return {**pages, **lists, **feeds}
