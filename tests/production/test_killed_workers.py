"""Whoever makes a plan is killed at any moment: its run ends all the same, and crews see nothing
of it."""

import os
import random
import signal
from contextlib import suppress
from dataclasses import replace
from time import sleep

import pytest
from django.utils import timezone

from scheduling import jobs
from scheduling.models import PlanRun
from scheduling.services.lost_runs import LOST, give_up_lost_runs
from tests.production.servers import await_that
from tests.production.stack import Stack, Worker
from tests.production.told import told, told_company
from tests.sites import MONDAY

pytestmark = pytest.mark.services

LEASE_S = 5.0
SEARCH_S = 1.0
TAKEN_WITHIN_S = 60.0
UNFINISHED = (PlanRun.Status.QUEUED, PlanRun.Status.RUNNING)


@pytest.mark.parametrize("times", [20, pytest.param(100, marks=pytest.mark.soak)])
def test_every_run_ends_and_stores_one_result_or_none(
    times: int, stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.PROPOSAL_SECONDS", SEARCH_S)
    stack = replace(stack, more={"COATWEAVE_RUN_LEASE_SECONDS": f"{LEASE_S:.0f}"})
    chance = random.Random(7)
    companies = [told_company(f"Finishing {number}") for number in range(times)]
    before = [told(company) for company in companies]
    runs = []
    with stack.worker() as worker:
        for company in companies:
            run = jobs.request_replan(company=company, now=MONDAY)
            kill_while_it_goes_on(run, worker, chance)
            runs.append(run)
        await_that(lambda: all_over(runs), "every run is over", LEASE_S + TAKEN_WITHIN_S)
        await_that(lambda: not worker.solvers(), "no solver goes on for a planner that is gone")
    assert [told(company) for company in companies] == before
    ended = [how_it_ended(run) for run in runs]
    assert set(ended) <= {"lost", "whole"}, ended
    assert "lost" in ended, "some were killed in time"


def kill_while_it_goes_on(run: PlanRun, worker: Worker, chance: random.Random) -> None:
    """Kill the solver or the planner above it at a random moment of a run."""
    await_that(lambda: is_claimed(run), "a planner has taken the run", TAKEN_WITHIN_S)
    sleep(chance.uniform(0.0, 1.5 * SEARCH_S))  # no event: at any moment is what is tested
    victims = worker.solvers() if chance.random() < 1 / 2 else worker.planners()
    for victim in victims:
        with suppress(ProcessLookupError):  # it has come to its own end
            os.kill(victim, signal.SIGKILL)


def is_claimed(run: PlanRun) -> bool:
    run.refresh_from_db()
    return run.status != PlanRun.Status.QUEUED


def all_over(runs: list[PlanRun]) -> bool:
    give_up_lost_runs(now=timezone.now())
    going_on = PlanRun.objects.filter(pk__in=[run.pk for run in runs], status__in=UNFINISHED)
    return not going_on.exists()


def how_it_ended(run: PlanRun) -> str:
    """Say whether a run was lost and left nothing, or came to its end and stored it once."""
    run.refresh_from_db()
    kinds = [plan.kind for plan in run.plans.order_by("pk")]
    if run.status == PlanRun.Status.FAILED and run.error == LOST:
        return "lost" if not kinds else f"lost with {kinds}"
    is_whole = run.status == PlanRun.Status.DONE and kinds and len(kinds) == len(set(kinds))
    return "whole" if is_whole else f"{run.status} {run.error} {kinds}"
