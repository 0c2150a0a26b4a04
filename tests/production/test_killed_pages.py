"""A small site, whose web server makes the plans itself, is killed in the middle of one."""

import os
import random
import signal
from contextlib import ExitStack
from dataclasses import replace
from datetime import timedelta
from time import sleep
from urllib.request import urlopen

import pytest
from django.utils import timezone

from finishing.models import Company
from scheduling.models import PlanRun
from scheduling.queries.runs import BEGINS_WITHIN
from scheduling.services.replan import request_run
from tests.production.seeds import a_seed
from tests.production.servers import await_that, free_port
from tests.production.stack import Family, Stack
from tests.production.test_killed_workers import all_over, how_it_ended, is_claimed
from tests.production.told import told, told_company
from tests.sites import MONDAY

pytestmark = pytest.mark.services

LEASE_S, SEARCH_S, WITHIN_S = 4, 1.0, 120.0
TIMES = 2


@pytest.mark.parametrize("who", ["child", "all"])
def test_a_plan_is_made_though_its_web_server_is_killed(who: str, stack: Stack) -> None:
    """child: the process with the planning thread, which gunicorn starts again; all: gunicorn too,
    which somebody starts again."""
    alone = {"COATWEAVE_CELERY_BROKER_URL": "", "COATWEAVE_RUN_LEASE_SECONDS": f"{LEASE_S}"}
    stack, port = replace(stack, more=alone), free_port()
    companies = [told_company(f"Finishing {number}") for number in range(TIMES)]
    before, chance = [told(company) for company in companies], random.Random(a_seed())
    runs = []
    with ExitStack() as opened:
        pages = opened.enter_context(stack.pages(port))
        for company in companies:
            run = left_by_somebody(company)
            runs.append(run)
            await_that(lambda run=run: is_claimed(run), "the thread has taken it", WITHIN_S)  # type: ignore[misc]
            if len(runs) == 1:  # certainly in time, on the fastest machine too
                await_that(lambda: bool(pages.solvers()), "a solver searches", WITHIN_S)  # noqa: B023
            else:
                sleep(chance.uniform(0.0, SEARCH_S))  # no event: at any moment is what is tested
            if who == "child":
                for pid in pages.children():
                    os.kill(pid, signal.SIGKILL)
            else:
                pages.kill()
                pages = opened.enter_context(stack.pages(port))
        await_that(lambda: all_over(runs), "all are over", WITHIN_S)
        await_that(lambda: answers(port), "pages are there again", WITHIN_S)
        await_that(lambda: nobody_plans(pages), "no solver is left")
    assert [told(company) for company in companies] == before
    for run in runs:
        run.refresh_from_db()
    assert [how_it_ended(run) for run in runs] == ["done"] * TIMES
    assert runs[0].attempts >= 2, "it was killed in time"


def left_by_somebody(company: Company) -> PlanRun:
    """A run whose start was forgotten: the web server's own thread finds it."""
    run = request_run(company=company, plan_from=MONDAY, seconds=2 * SEARCH_S)
    long_ago = timezone.now() - BEGINS_WITHIN - timedelta(seconds=1)
    PlanRun.objects.filter(pk=run.pk).update(requested_at=long_ago)
    return run


def nobody_plans(pages: Family) -> bool:
    return not pages.solvers()


def answers(port: int) -> bool:
    try:
        with urlopen(f"http://127.0.0.1:{port}/readyz", timeout=10) as answer:
            return bool(answer.status == 200)
    except OSError:  # which an error of HTTP is too
        return False
