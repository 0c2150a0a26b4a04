"""The queue on Redis is full of plans for the morning: one that somebody waits for goes first."""

from datetime import timedelta

import pytest
from django.utils import timezone

from finishing.models import Company
from scheduling import jobs
from scheduling.models import PlanRun
from scheduling.queries.runs import BEGINS_WITHIN, UNFINISHED
from scheduling.services.replan import request_run
from scheduling.tasks import start_replan, sweep_runs
from tests.production.servers import await_that
from tests.production.stack import Stack
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.services

NIGHT, WITHIN_S = 12, 180.0
TAKEN_ALREADY = 2
"""One is being planned, and the worker may hold another in its hand."""


def asked_at_night(company: Company) -> PlanRun:
    by_the_clock = PlanRun.Priority.BY_THE_CLOCK
    run = request_run(company=company, plan_from=MONDAY, work=1, priority=by_the_clock)
    start_replan(run.pk)
    return run


def test_who_waits_goes_before_a_full_queue(stack: Stack) -> None:
    companies = [make_site(name=f"Finishing {number}")[0] for number in range(NIGHT + 1)]
    night = [asked_at_night(company) for company in companies[1:]]
    PlanRun.objects.update(requested_at=timezone.now() - BEGINS_WITHIN - timedelta(seconds=1))
    sweep_runs()  # all of them are in the queue twice: none is done so
    with stack.worker("--queues", "planning"):
        await_that(lambda: done() > 0, "the night has begun", WITHIN_S)
        asked = jobs.request_replan(company=companies[0], now=MONDAY)
        PlanRun.objects.filter(pk=asked.pk).update(work=1)
        before = PlanRun.objects.exclude(status=PlanRun.Status.QUEUED).count()
        await_that(lambda: not going_on(), "all are done", WITHIN_S)
    order = list(PlanRun.objects.order_by("claimed_at").values_list("pk", flat=True))
    assert order.index(asked.pk) <= before + TAKEN_ALREADY < NIGHT
    for run in (asked, *night):
        run.refresh_from_db()
        assert (run.status, run.attempts, run.plans.count()) == ("done", 1, 1)


def done() -> int:
    return PlanRun.objects.filter(status=PlanRun.Status.DONE).count()


def going_on() -> bool:
    return PlanRun.objects.filter(status__in=UNFINISHED).exists()
