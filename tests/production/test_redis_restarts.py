"""The broker goes and comes back with nothing in it: a run is a row, so none is lost, none done
twice."""

import signal
from datetime import timedelta

import pytest
from django.utils import timezone

from scheduling import jobs
from scheduling.models import PlanRun
from scheduling.queries.runs import BEGINS_WITHIN
from scheduling.tasks import sweep_runs
from tests.production.servers import await_that
from tests.production.stack import Stack
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.services

DONE_WITHIN_S = 120.0


def test_runs_whose_messages_are_lost_are_each_done_once(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.AFRESH_SECONDS", 0.1)
    companies = [make_site(name=f"Finishing {number}")[0] for number in range(4)]
    before = [jobs.request_replan(company=company, now=MONDAY) for company in companies[:2]]
    stack.redis.kill(signal.SIGKILL)
    during = [jobs.request_replan(company=company, now=MONDAY) for company in companies[2:]]
    stack.redis.start()
    runs = before + during
    assert {run.status for run in runs} == {PlanRun.Status.QUEUED}
    PlanRun.objects.update(requested_at=timezone.now() - BEGINS_WITHIN - timedelta(seconds=1))
    with stack.worker():
        sweep_runs()
        sweep_runs()  # so that each has two messages
        await_that(lambda: all_done(runs), "all runs are done", DONE_WITHIN_S)
    assert [run.plans.count() for run in runs] == [1, 1, 1, 1]
    assert PlanRun.objects.count() == len(runs)


def test_a_worker_goes_on_when_its_broker_is_back(
    stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.AFRESH_SECONDS", 0.1)
    (first, _), (second, _) = make_site(name="First"), make_site(name="Second")
    with stack.worker():
        run = jobs.request_replan(company=first, now=MONDAY)
        await_that(lambda: all_done([run]), "the first run is done", DONE_WITHIN_S)
        stack.redis.kill(signal.SIGKILL)
        stack.redis.start()
        again = jobs.request_replan(company=second, now=MONDAY)
        await_that(lambda: all_done([again]), "the second run is done", DONE_WITHIN_S)
    assert [run.plans.count(), again.plans.count()] == [1, 1]


def all_done(runs: list[PlanRun]) -> bool:
    for run in runs:
        run.refresh_from_db()
        assert run.status != PlanRun.Status.FAILED, run.error
    return all(run.status == PlanRun.Status.DONE for run in runs)
