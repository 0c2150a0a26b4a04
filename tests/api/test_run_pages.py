"""Planning from a page: the button, the run it leads to, and what is accepted there."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import AirSource, Company, DayOff
from finishing.services.air import Reading, put_air_source, store_air
from scheduling.jobs import request_replan
from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.queries.plans import proposals_of
from scheduling.services.replan import request_run, run_replan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_plan
from tests.plans import plan_from, published_from
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)

SOON = MONDAY + timedelta(minutes=20)


@pytest.fixture(autouse=True)
def _monday(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is twenty past midnight on the Monday that the sites are made for."""
    monkeypatch.setattr(timezone, "now", lambda: SOON)


@pytest.fixture
def proposed() -> tuple[Company, Plan]:
    """A published site whose air has turned so humid that what is published no longer fits, and
    the first proposal that a run made since."""
    company, _ = make_site(system="All-purpose drying")
    published_from(company, MONDAY)
    source = put_air_source(company=company, name="Forecast", kind=AirSource.Kind.FORECAST)
    hours = (MONDAY + timedelta(hours=number) for number in range(7 * 24))
    store_air(source=source, readings={hour: Reading(14.0, 0.9) for hour in hours})
    return company, made_plan(company)


def made_plan(company: Company) -> Plan:
    run = request_run(company=company, plan_from=SOON, work=1)
    plan = run_replan(run_id=run.pk)
    assert plan is not None
    return plan


def page_of(plan: Plan) -> str:
    assert plan.run
    return f"/runs/{plan.run.public_id}/"


def text_of(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status
    return " ".join(response.content.decode().split())


def test_the_button_asks_for_a_run_and_leads_to_it(sign_in: SignIn, started: list[int]) -> None:
    company, _ = make_site()
    client = sign_in(company)
    assert "Plan again" in text_of(client, "/air/now/")
    answer = client.post("/runs/new/")
    run = PlanRun.objects.get(company=company)
    assert answer.headers["Location"] == f"/runs/{run.public_id}/"
    assert (started, run.plan_from) == ([run.pk], SOON)
    assert client.post("/runs/new/").headers["Location"] == f"/runs/{run.public_id}/"
    assert started == [run.pk]
    assert f'href="/runs/{run.public_id}/"' in text_of(client, "/air/now/")


def test_nothing_is_planned_by_reading_or_from_another_site(
    sign_in: SignIn, started: list[int]
) -> None:
    company, _ = make_site()
    client = sign_in(company)
    assert client.get("/runs/new/").status_code == 405
    client.handler.enforce_csrf_checks = True
    assert client.post("/runs/new/").status_code == 403
    assert started == []


def test_a_run_says_how_it_stands_until_it_is_over(sign_in: SignIn, started: list[int]) -> None:
    company, _ = make_site()
    client = sign_in(company)
    address = client.post("/runs/new/").headers["Location"]
    run = PlanRun.objects.get()
    text = text_of(client, address)
    assert "Waiting to begin, asked for Mon 2 Mar 00:20." in text
    assert f'hx-get="{address}" hx-trigger="every 2s"' in text
    first = {"seconds": 0.5, "at": 2.5, "score": [190, 4, 30, 999, 15], "bound": 60, "by": "walk"}
    run.progress = [first, {**first, "seconds": 1.25, "score": [90, 4, 30, 999, 15]}]
    run.steps = [{"code": "air", "at": 0, "seconds": 0}, {"code": "search", "at": 2, "seconds": 5}]
    run.status, run.claimed_at = "running", SOON - timedelta(seconds=4)
    run.save()
    text = text_of(client, address)
    assert "Planning since Mon 2 Mar 00:19." in text
    assert "Now searching for better plans; at most 13 s of searching left." in text, "15 in all"
    assert 'class="past"' in text, "the course so far"
    assert "90 weighted minutes of lateness and extra hours (none below 60), 4 visits" in text
    PlanRun.objects.update(status="queued", seconds=0.1, steps=[], progress=[])
    run_replan(run_id=run.pk)
    run.refresh_from_db()
    assert [step["code"] for step in run.steps] == ["air", "search", "air", "dryers"]
    text = text_of(client, address)
    assert "Done Mon 2 Mar 00:20." in text
    assert "hx-get" not in text
    assert "<script" not in text, "nothing is left to follow"
    assert "A plan to work on" in text
    assert 'href="/week/"' in text
    assert 'href="/publishing/"' in text


@pytest.mark.parametrize(
    ("error", "said"),
    [
        ("OvertakenError: x", "because a plan was published while this one was made."),
        ("OSError: /secret/place", "because of a fault: the log of the server says more."),
    ],
)
def test_a_failed_run_says_why_in_plain_words(sign_in: SignIn, error: str, said: str) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=SOON)
    PlanRun.objects.filter(pk=run.pk).update(status="failed", error=error, finished_at=SOON)
    text = text_of(sign_in(company), f"/runs/{run.public_id}/")
    assert said in text
    assert "/secret/place" not in text
    assert "Plan again" in text


def test_a_run_whose_process_is_gone_is_told_to_have_failed(sign_in: SignIn) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=SOON)
    long_ago = SOON - timedelta(hours=1)
    PlanRun.objects.filter(pk=run.pk).update(status="running", claimed_at=long_ago)
    text = text_of(sign_in(company), f"/runs/{run.public_id}/")
    assert "it took longer than a run may" in text


def test_a_proposal_is_shown_and_accepted(sign_in: SignIn, proposed: tuple[Company, Plan]) -> None:
    company, plan = proposed
    client, address = sign_in(company), page_of(plan)
    text = text_of(client, address)
    for part in (
        "1. Fewest changes",
        "Handovers late or not planned",
        "Days late, all handovers added",
    ):
        assert part in text
    for part in (
        "As published",
        "Handovers, before and after",
        "Visits that move, before and after",
    ):
        assert part in text
    moved = plan.change["moves"][0]["from"]["crew"]
    assert re.search(
        rf'data-label="As published">{moved} \w+ \d+ Mar \d\d:\d\d-\d\d:\d\d</td>', text
    )
    for number in range(1, len(proposals_of(company)) + 1):
        assert f"Accept {number}" in text
    assert client.get(f"/plans/{plan.public_id}/accept/").status_code == 405
    answer = client.post(f"/plans/{plan.public_id}/accept/")
    assert answer.headers["Location"] == address
    assert CompanyPlans.objects.get(company=company).working == plan
    assert "Accepted: this is the working plan." in text_of(client, address)


def test_a_stale_proposal_says_why_it_cannot_be_accepted(
    sign_in: SignIn, proposed: tuple[Company, Plan]
) -> None:
    company, plan = proposed
    working = CompanyPlans.objects.get(company=company).working
    client, accept = sign_in(company), f"/plans/{plan.public_id}/accept/"
    for number in range(1, 15):
        crew = plan.tasks.all()[0].crew
        DayOff.objects.create(company=company, crew=crew, day=MONDAY.date() + timedelta(number))
    refused = client.post(accept)
    assert refused.status_code == 409
    assert "Not accepted:" in refused.content.decode()
    assert "cannot stay" in refused.content.decode()
    made_plan(company)
    refused = client.post(accept)
    assert refused.status_code == 409
    assert "a later replan has taken its place" in refused.content.decode()
    text = text_of(client, page_of(plan))
    assert "Something else has taken its place: plan again." in text
    assert "Accept 1" not in text
    assert CompanyPlans.objects.get(company=company).working == working


def test_another_companys_runs_and_plans_are_not_there(
    sign_in: SignIn, proposed: tuple[Company, Plan], client: Client
) -> None:
    company, plan = proposed
    stranger = sign_in(make_company("Other Finishing"))
    text_of(stranger, page_of(plan), status=404)
    assert stranger.post(f"/plans/{plan.public_id}/accept/").status_code == 404
    assert client.get(page_of(plan)).status_code == 302, "one asks strangers to sign in"
    assert client.post(f"/plans/{plan.public_id}/accept/").status_code == 302
    assert CompanyPlans.objects.get(company=company).working != plan


def test_a_plan_that_no_run_made_has_no_page_to_be_accepted_on(sign_in: SignIn) -> None:
    company = make_company()
    plan = make_plan(company)
    assert sign_in(company).post(f"/plans/{plan.public_id}/accept/").status_code == 404


def test_a_plan_that_is_no_proposal_is_refused(sign_in: SignIn) -> None:
    company, _ = make_site()
    plan = plan_from(company)
    refused = sign_in(company).post(f"/plans/{plan.public_id}/accept/")
    assert refused.status_code == 409
    assert "that is no proposal of this company" in refused.content.decode()


def test_whoever_asked_for_a_run_that_was_stopped_is_led_to_the_newer(
    started: list[int], sign_in: SignIn
) -> None:
    company, _ = make_site()
    older = request_replan(company=company, now=SOON)
    PlanRun.objects.update(status="running", claimed_at=SOON)
    newer = request_replan(company=company, now=SOON)
    page = text_of(sign_in(company), f"/runs/{older.public_id}/")
    assert "because another plan was asked for meanwhile" in page
    assert f'href="/runs/{newer.public_id}/"' in page
