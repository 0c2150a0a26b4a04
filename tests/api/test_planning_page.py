"""The planning page, and ending a run from its page."""

from datetime import timedelta

import pytest
from django.utils import timezone

from finishing.models import Crew, DayOff
from scheduling.models import PlanRun
from scheduling.services.replan import request_run
from tests.api.conftest import SignIn
from tests.factories import make_company
from tests.plans import published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db

SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: SOON)


def test_an_empty_company_is_told_what_it_lacks(sign_in: SignIn) -> None:
    text = sign_in(make_company()).get("/runs/").content.decode()
    assert "Nothing can be planned before there are houses and crews." in text
    assert "Changed since" not in text


def test_what_has_changed_and_what_runs_made(sign_in: SignIn) -> None:
    company, _ = make_site(system="All-purpose drying")
    published_from(company, MONDAY)
    client = sign_in(company)
    assert 'hx-get="/runs/changed/"' in client.get("/runs/").content.decode()
    nothing = client.get("/runs/changed/").content.decode()
    assert "Nothing that a plan would have to follow." in nothing
    DayOff.objects.create(
        company=company, crew=Crew.objects.get(), day=(MONDAY + timedelta(days=1)).date()
    )
    failed = request_run(company=company, plan_from=SOON)
    PlanRun.objects.filter(pk=failed.pk).update(
        status="failed", error="OvertakenError: x", finished_at=SOON
    )
    text = "".join(client.get(address).content.decode() for address in ("/runs/", "/runs/changed/"))
    assert "North crew, person-hours: Tue 3 Mar 0 instead of 17" in text
    assert "A plan to work on" in text
    assert "A plan was published while this one was made" in text
    assert f'href="/runs/{failed.public_id}/"' in text


def test_a_run_is_asked_to_stop_once(sign_in: SignIn) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=SOON)
    client = sign_in(company)
    address = f"/runs/{run.public_id}/"
    assert "Ends the search with the best plan so far." in client.get(address).content.decode()
    assert client.get(f"{address}stop/").status_code == 405
    assert sign_in(make_company("Other")).post(f"{address}stop/").status_code == 404
    run.refresh_from_db()
    assert not run.stop_requested
    assert client.post(f"{address}stop/").headers["Location"] == address
    run.refresh_from_db()
    assert run.stop_requested
    assert "It ends with the best plan so far." in client.get(address).content.decode()


def test_a_run_that_is_over_is_not_asked_to_stop(sign_in: SignIn) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=SOON)
    PlanRun.objects.update(status="done", finished_at=SOON)
    sign_in(company).post(f"/runs/{run.public_id}/stop/")
    run.refresh_from_db()
    assert not run.stop_requested
