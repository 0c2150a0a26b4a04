"""What plans and houses cost, on pages: for who plans alone."""

from datetime import date
from urllib.parse import urlsplit

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from finishing.models import House, Price, ReadinessLine, Role
from scheduling.models import Plan
from scheduling.money_wording import amount
from scheduling.services.links import feed_address, make_link, make_page, page_address
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.plans import first_plan, plan_cost, quick_proposal
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
AMOUNT = "\N{NO-BREAK SPACE}EUR"
"""Behind any; three letters alone may be part of a token."""
RATE = 98765


@pytest.fixture
def house() -> House:
    company, house = make_site()
    company.currency = "EUR"
    company.save()
    Price.objects.create(company=company, kind="hour", amount=RATE, since=date(2026, 1, 1))
    return house


@pytest.fixture
def plan(house: House) -> Plan:
    return first_plan(house.company)


def in_all(plan: Plan) -> str:
    cost = plan_cost(plan).cost.total
    assert cost > 0
    return amount(cost, plan.company)


def test_the_plan_and_its_house_show_the_same_sum(
    sign_in: SignIn, house: House, plan: Plan
) -> None:
    client = sign_in(house.company)
    for page in ("/costs/", f"/houses/{house.public_id}/costs/"):
        text = client.get(page).content.decode()
        assert in_all(plan) in text
        assert "paper tape" in text  # it has no price, so that a dash stands for it and no nothing
        assert '<td data-label="Material">\N{EN DASH}</td>' in text
        assert 'href="/company/compounds/">Enter what its packs cost' in text
        assert "Enter what it costs" not in text


def test_work_without_a_place_is_said_to_be_in_no_cost(sign_in: SignIn, house: House) -> None:
    company, other = (
        house.company,
        House.objects.create(company=house.company, name="Shed", handover_on=house.handover_on),
    )
    ReadinessLine.objects.create(company=company, house=house, item="heat", owed_by="Plumber")
    first_plan(company)
    client = sign_in(company)
    said = f"in none of these costs: {house.name}. <a href="
    for page in ("/costs/", f"/houses/{house.public_id}/costs/"):
        assert said in client.get(page).content.decode()
    assert "in none of" not in client.get(f"/houses/{other.public_id}/costs/").content.decode()
    ReadinessLine.objects.update(done=True)
    first_plan(company)
    assert "in none of" not in client.get("/costs/").content.decode()


def test_proposals_are_compared_by_cost_for_who_plans(
    sign_in: SignIn, house: House, plan: Plan
) -> None:
    publish_plan(company=house.company, now=MONDAY)
    proposal = quick_proposal(house.company)
    assert proposal.run is not None
    page = f"/runs/{proposal.run.public_id}/"
    assert in_all(proposal) in sign_in(house.company, Role.PLANNER).get(page).content.decode()
    for role in (Role.VIEWER, Role.CREW_LEAD):
        assert "Cost from now on" not in sign_in(house.company, role).get(page).content.decode()


def test_what_was_worked_out_is_shown_until_a_price_changes(
    sign_in: SignIn, house: House, plan: Plan
) -> None:
    publish_plan(company=house.company, now=MONDAY)
    proposal = quick_proposal(house.company)
    assert proposal.run is not None
    client, before = sign_in(house.company), in_all(proposal)
    pages = "/costs/", f"/houses/{house.public_id}/costs/", f"/runs/{proposal.run.public_id}/"
    shown = [client.get(page).content.decode() for page in pages]
    for page, once in zip(pages, shown, strict=True):
        with CaptureQueriesContext(connection) as queries:
            again = client.get(page).content.decode()
        assert again.count(AMOUNT) == once.count(AMOUNT) > 0
        assert not any('"finishing_price"."amount"' in query["sql"] for query in queries)
    Price.objects.update(amount=2 * RATE, version=2)
    assert in_all(proposal) != before
    assert before not in client.get(pages[2]).content.decode()
    for page in pages[:2]:
        assert in_all(plan) in client.get(page).content.decode()


def test_without_a_plan_or_prices_the_pages_say_what_belongs_there(sign_in: SignIn) -> None:
    company, house = make_site()
    client = sign_in(company)
    assert "There is no plan yet." in client.get("/costs/").content.decode()
    page = client.get(f"/houses/{house.public_id}/costs/").content.decode()
    assert "No work is planned here" in page
    assert "No visit has been here yet." in page


def test_no_crew_and_no_calendar_is_told_of_money(
    client: Client, sign_in: SignIn, house: House, plan: Plan
) -> None:
    crew = plan.tasks.all()[0].crew
    addresses = [page_address(make_page(crew=crew)), feed_address(make_link(crew=crew))]
    publish_plan(company=house.company, now=MONDAY)
    for address in addresses:
        told = client.get(urlsplit(address).path)
        assert told.status_code == 200
        assert AMOUNT not in told.content.decode()
    for role in (Role.VIEWER, Role.CREW_LEAD):
        lead = sign_in(house.company, role)
        for page in ("/costs/", f"/houses/{house.public_id}/costs/"):
            assert lead.get(page).status_code == 403
        for page in (f"/houses/{house.public_id}/", "/week/", "/"):
            assert AMOUNT not in lead.get(page).content.decode()
