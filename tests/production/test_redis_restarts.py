"""The broker goes and comes back with nothing in it: a run is a row, so none is lost, none done
twice."""

import re
import signal
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from http.client import HTTPConnection

import pytest
from django.db.models import F
from django.utils import timezone
from redis import Redis

from finishing.models import House
from scheduling import jobs
from scheduling.models import PlanRun
from scheduling.queries.runs import BEGINS_WITHIN
from scheduling.tasks import sweep_runs
from tests.bench.office_people import PENDING, signed_in
from tests.plans import first_plan
from tests.production.servers import await_that, free_port
from tests.production.stack import Stack
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.services

DONE_WITHIN_S = 120.0
PART = "/fit/"


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


def test_pages_do_without_redis_and_with_it_again(stack: Stack) -> None:
    """While it is away a thread of theirs finds answers, then workers do again."""
    cache_url = stack.redis.address.removesuffix("0") + "1"
    stack, port = replace(stack, more={"COATWEAVE_CACHE_URL": cache_url}), free_port()
    company, house = make_site()
    first_plan(company, timezone.now())
    cookie = signed_in(company, 1)
    with stack.pages(port, "--workers", "1"):
        await_that(lambda: status(port, "/", cookie) == 200, "pages are there")
        with stack.worker("--queues", "air"):
            await_that(lambda: status(port, PART, cookie) == 200, "a worker has found it")
        stack.redis.kill(signal.SIGKILL)
        for address in (PART, "/odds/", "/air/now/", "/runs/", "/api/v1/houses/"):
            assert status(port, address, cookie) in (200, PENDING), address
            await_that(lambda of=address: status(port, of, cookie) == 200, address)  # type: ignore[misc]
        stack.redis.start()
        await_that(lambda: is_left_to_workers(house, port, cookie, cache_url), "Redis is noticed")
        before = found_by_workers(stack)
        with stack.worker("--queues", "air"):
            await_that(lambda: found_by_workers(stack) > before, "a worker has found it")
            await_that(lambda: status(port, PART, cookie) == 200, "pages show it")


def found_by_workers(stack: Stack) -> int:
    """Return how many answers workers say that they have found."""
    log = stack.log("celery").read_text(encoding="utf-8")
    return len(re.findall(r"Task scheduling\.tasks\.find_answer\[.*\] succeeded", log))


def is_left_to_workers(house: House, port: int, cookie: str, cache_url: str) -> bool:
    """Ask for something that has yet to be found, and return whether Redis says who was told to:
    pages that do without it keep that by themselves."""
    House.objects.filter(pk=house.pk).update(version=F("version") + 1)
    told = status(port, PART, cookie)
    with closing(Redis.from_url(cache_url)) as redis:
        asked = list(redis.scan_iter("*:asked:*"))
    return told == PENDING and bool(asked)


def status(port: int, address: str, cookie: str) -> int:
    with closing(HTTPConnection("127.0.0.1", port, timeout=30)) as asked:
        try:
            asked.request("GET", address, headers={"Cookie": cookie, "HX-Request": "true"})
            return asked.getresponse().status
        except OSError:  # nobody listens yet
            return 0


def all_done(runs: list[PlanRun]) -> bool:
    for run in runs:
        run.refresh_from_db()
        assert run.status != PlanRun.Status.FAILED, run.error
    return all(run.status == PlanRun.Status.DONE for run in runs)
