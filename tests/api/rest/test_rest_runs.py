"""/api/v1/runs/: a plan is asked for, followed and stopped by a program."""

from datetime import timedelta

import pytest

from finishing.queries.rights import Right
from scheduling.models import PlanRun
from scheduling.services.replan import request_run, run_replan
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_company
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
RUNS = "/api/v1/runs/"


def test_a_run_is_asked_for_once_and_followed_to_its_plan(started: list[int]) -> None:
    company, _ = make_site()
    asker = program(company)
    first = asker.post(RUNS, {})
    run = PlanRun.objects.get()
    assert (first.status_code, first.json()["state"]) == (202, "queued")
    assert first["Location"].endswith(f"{RUNS}{run.public_id}/")
    again = asker.post(RUNS, {})
    assert (again.status_code, again["Location"]) == (202, first["Location"])
    assert PlanRun.objects.count() == 1
    PlanRun.objects.update(seconds=0.1)
    plan = run_replan(run_id=run.pk)
    said = asker.get(first["Location"]).json()
    assert plan is not None
    assert (said["state"], said["plans"]) == ("done", [str(plan.public_id)])
    assert said["plan_from"] == "2026-03-02T00:00:00Z"
    assert [step["code"] for step in said["steps"]] == ["air", "search", "air", "dryers"]
    assert said["best"]["cost_minutes"] >= said["best"]["bound_minutes"]
    assert said["search_left_s"] is None
    assert asker.post(RUNS, {})["Location"] != first["Location"], "the first is over"


def test_a_run_that_goes_on_says_how_far_it_is() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY)
    better = {"seconds": 0.5, "at": 2.5, "score": [190, 4, 30, 999, 15], "bound": 60, "by": "walk"}
    run.progress = [better, {**better, "seconds": 1.25, "score": [90, 4, 30, 999, 15]}]
    run.steps = [{"code": "air", "at": 0, "seconds": 0}, {"code": "search", "at": 2, "seconds": 5}]
    run.status, run.claimed_at = "running", MONDAY - timedelta(seconds=4)
    run.save()
    said = program(company).get(f"{RUNS}?state=running").json()["results"][0]
    assert said["best"] == {
        "cost_minutes": 90,
        "bound_minutes": 60,
        "visits": 4,
        "idle_minutes": 30,
        "found_s": 1.25,
    }
    assert said["steps"][1] == {"code": "search", "at_s": 2.0, "search_s": 5.0}
    assert said["search_left_s"] == 13.0, "15 in all, 2 gone, as on its page"


def test_a_run_is_stopped_until_it_is_over() -> None:
    company, _ = make_site()
    asker = program(company)
    address = f"{RUNS}{request_run(company=company, plan_from=MONDAY).public_id}/"
    for _ in range(2):
        answer = asker.post(f"{address}stop/", None)
        assert (answer.status_code, answer.json()["stop_requested"]) == (202, True)
    PlanRun.objects.update(status="done")
    refused = asker.post(f"{address}stop/", None)
    assert (refused.status_code, refused.json()["reason"]) == (409, "over")
    assert refused.json()["type"] == "/api/v1/problems/overtaken/"


def test_a_failed_run_says_why_and_no_more() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY)
    PlanRun.objects.update(status="failed", error="OSError: /secret/place", finished_at=MONDAY)
    said = program(company).get(f"{RUNS}{run.public_id}/").json()
    assert said["failure"] == "of a fault: the log of the server says more"
    assert "/secret/place" not in str(said)


def test_a_run_whose_process_is_gone_is_told_to_have_failed() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY)
    PlanRun.objects.update(status="running", claimed_at=MONDAY - timedelta(hours=1))
    said = program(company).get(f"{RUNS}{run.public_id}/").json()
    assert (said["state"], said["finished_at"]) == ("failed", "2026-03-02T00:00:00Z")


def test_nothing_is_planned_without_the_right_or_the_rows_or_by_a_body_that_is_none(
    started: list[int],
) -> None:
    company, _ = make_site()
    assert program(company, Right.READ).post(RUNS, {}).status_code == 403
    wrong = program(company).post(RUNS, {"seconds": 5, "seed": 2})
    assert (wrong.status_code, pointers(wrong)) == (422, ["#/seconds", "#/seed"])
    empty = program(make_company("No houses")).post(RUNS, {})
    assert empty.status_code == 409
    assert not PlanRun.objects.exists()
