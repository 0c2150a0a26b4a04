"""Pages that are shown before all of them is found say so, and show the rest once it is there."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from finishing.models import Company, Compound, Crew, Price
from scheduling import jobs
from scheduling.services.replan import request_run, run_replan
from tests.api.conftest import SignIn
from tests.factories import make_plan, task
from tests.plans import published_from
from tests.scenarios import planned_for, scenario_with
from tests.scheduling.services.test_material import pails, uses
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
BY_SCRIPT = {"HX-Request": "true"}
TO_COME = "being worked out"


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=1))


def needs_a_pail() -> tuple[Company, Compound]:
    company, house = make_site(rooms=("Hall",))
    crew = Crew.objects.get(company=company)
    make_plan(company, [task(crew, house, "2026-03-06 08:00", **uses(13.0))])
    return company, pails(company, lead_days=1)


def test_a_week_marks_late_material_once_it_is_known(sign_in: SignIn, asked: list[Any]) -> None:
    company, pail = needs_a_pail()
    client, marked = sign_in(company), "(there on "
    for days, is_late in ((7, True), (1, False)):
        Compound.objects.filter(pk=pail.pk).update(lead_days=days, version=pail.version + days)
        early = client.get("/week/2026-03-02/").content.decode()
        assert (TO_COME in early, marked in early) == (True, False)
        assert client.get("/week/material/", headers=BY_SCRIPT).status_code == 204
        jobs.find_answer(asked[-1])
        found = client.get("/week/material/", headers=BY_SCRIPT)
        assert (found.status_code, found.content) == (200, b"")
        assert ("HX-Refresh" in found.headers) == is_late
        known = client.get("/week/2026-03-02/").content.decode()
        assert (TO_COME in known, marked in known) == (False, is_late)
    assert client.get("/week/material/").headers["Location"] == "/week/"
    assert len(asked) == 2


def published_with_prices() -> Company:
    company, _ = make_site()
    published_from(company, MONDAY)
    Price.objects.create(company=company, kind="hour", amount=4500, since=MONDAY.date())
    return company


def test_proposals_are_compared_before_their_costs_are_known(
    sign_in: SignIn, asked: list[Any]
) -> None:
    company = published_with_prices()
    run = request_run(company=company, plan_from=MONDAY + timedelta(minutes=20), work=2)
    assert run_replan(run_id=run.pk)
    _shows_costs_later(sign_in, asked, company, f"/runs/{run.public_id}/", "Cost from now on")


def test_a_proposal_that_is_refused_is_shown_with_its_costs_once_they_are_known(
    sign_in: SignIn, asked: list[Any]
) -> None:
    """The answer is that of a form, whose address is none to look at again."""
    company = published_with_prices()
    first, second = (
        run_replan(run_id=request_run(company=company, plan_from=at, work=2).pk)
        for at in (MONDAY + timedelta(minutes=20), MONDAY + timedelta(minutes=25))
    )
    assert first
    assert second
    client = sign_in(company)
    refused = client.post(f"/plans/{first.public_id}/accept/")
    assert refused.status_code == 409
    again = re.findall(r'hx-get="([^"]+)" hx-trigger="every 1s"', refused.content.decode())
    jobs.find_answer(asked.pop())
    assert ["Cost from now on" in client.get(one).content.decode() for one in again] == [True]


def test_scenarios_are_compared_before_their_costs_are_known(
    sign_in: SignIn, asked: list[Any]
) -> None:
    company = published_with_prices()
    planned_for(scenario_with(company))
    _shows_costs_later(sign_in, asked, company, "/scenarios/", ">Cost<")


def _shows_costs_later(
    sign_in: SignIn, asked: list[Any], company: Company, address: str, costs: str
) -> None:
    client = sign_in(company)
    for price in (4500, 5000):  # costs are found again once one has changed
        Price.objects.filter(company=company).update(amount=price, version=price)
        early = client.get(address).content.decode()
        assert (TO_COME in early, costs in early) == (True, False)
        assert "Side by side" in early or "Handovers, before and after" in early
        jobs.find_answer(asked.pop())
        known = client.get(address).content.decode()
        assert (TO_COME in known, costs in known) == (False, True)
        assert not asked


def test_how_a_house_dries_and_what_it_costs_is_found_for_each_house(
    sign_in: SignIn, asked: list[Any]
) -> None:
    company, house = make_site()
    published_from(company, MONDAY)
    client = sign_in(company)
    for part, shown in (("air", "coats and air"), ("costs", "costs and hours")):
        address = f"/houses/{house.public_id}/{part}/"
        assert client.get(address, headers=BY_SCRIPT).status_code == 204
        assert TO_COME in client.get(address).content.decode()
        jobs.find_answer(asked.pop())
        assert f"{house.name}: {shown}" in client.get(address).content.decode()
        assert not asked
