"""Whoever makes a plan is killed at any moment: another begins its run anew, one result is stored,
and crews see nothing of it."""

import os
import random
import signal
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field, replace
from datetime import timedelta
from time import sleep

import pytest
from django.utils import timezone

from finishing.models import Company
from scheduling import jobs
from scheduling.models import PlanRun
from scheduling.queries.runs import BEGINS_WITHIN, UNFINISHED
from scheduling.services.lost_runs import MOST_ATTEMPTS
from tests.production.seeds import a_seed
from tests.production.servers import await_that
from tests.production.stack import Family, Stack
from tests.production.told import told, told_company
from tests.sites import MONDAY

pytestmark = pytest.mark.services

LEASE_S = 5.0
"""Short, but no slow machine's planner misses it by itself more than now and then."""
SEARCH_S = 0.5
TAKEN_WITHIN_S = 60.0
"""From its place in the queue: a worker has to start, on a slow and busy machine."""
SOLVER, PLANNER, PARENT = "solver", "planner", "parent"
GIVEN_UP, MOSTLY = "given up", 0.8
"""A run that was begun anew beside those that are killed next may be hit each time."""


@pytest.mark.parametrize("times", [20, pytest.param(100, marks=pytest.mark.soak)])
def test_every_run_is_done_though_whoever_does_it_is_killed(
    times: int, stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduling.services.replan.PROPOSAL_SECONDS", SEARCH_S)
    stack = replace(stack, more={"COATWEAVE_RUN_LEASE_SECONDS": f"{LEASE_S:.0f}"})
    companies = [told_company(f"Finishing {number}") for number in range(times)]
    before = [told(company) for company in companies]
    with Killer(stack) as killer:
        runs = []
        for company in companies:
            run = asked_for_a_while_ago(company)
            killer.kill_somebody_who_does(run)
            runs.append(run)
        await_that(lambda: all_over(runs), "every run is over", LEASE_S + TAKEN_WITHIN_S)
        await_that(killer.nobody_is_left, "nobody goes on for a worker that is gone")
    assert [told(company) for company in companies] == before
    for run in runs:
        run.refresh_from_db()
    print(sum_of(runs, killer))  # noqa: T201 - the figures of the run
    ended = [how_it_ended(run) for run in runs]
    assert {*ended} <= {"done", GIVEN_UP}
    assert ended.count("done") >= MOSTLY * times
    again = [
        run for run, how in zip(runs, ended, strict=True) if run.attempts > 1 and how == "done"
    ]
    assert again, "some were killed in time"
    assert all(run.attempts <= MOST_ATTEMPTS for run in runs)
    assert all(0 < waited_s(run, killer) <= 1.25 * LEASE_S + TAKEN_WITHIN_S for run in again)


def asked_for_a_while_ago(company: Company) -> PlanRun:
    """A run that is sent again whenever the clock has runs looked for: some messages end with a
    worker that had them, and others come twice."""
    run = jobs.request_replan(company=company, now=MONDAY)
    long_ago = timezone.now() - BEGINS_WITHIN - timedelta(seconds=1)
    PlanRun.objects.filter(pk=run.pk).update(requested_at=long_ago)
    return run


@dataclass
class Killer:
    """Has a worker and its clock; kills one of those who do a run, at any moment of it."""

    stack: Stack
    chance: random.Random = field(default_factory=lambda: random.Random(a_seed()))
    at: dict[int, tuple[str, float]] = field(default_factory=dict)
    gone: list[Family] = field(default_factory=list)

    def __enter__(self) -> "Killer":
        self._open = ExitStack()
        self._open.enter_context(self.stack.clock())
        self.worker = self._open.enter_context(self.stack.worker())
        return self

    def __exit__(self, *_: object) -> None:
        self._open.close()

    def kill_somebody_who_does(self, run: PlanRun) -> None:
        await_that(lambda: is_claimed(run), "a planner has taken the run", TAKEN_WITHIN_S)
        sleep(self.chance.uniform(0.0, 1.5 * SEARCH_S))  # no event: at any moment is what is tested
        (who,) = self.chance.choices((SOLVER, PLANNER, PARENT), (4, 4, 2))
        self.at[run.pk] = who, timezone.now().timestamp()
        if who == PARENT:
            self.worker.kill_parent()
            self.gone.append(self.worker)
            self.worker = self._open.enter_context(self.stack.worker())
            return
        for victim in self.worker.solvers() if who == SOLVER else self.worker.children():
            with suppress(ProcessLookupError):  # it has come to its own end
                os.kill(victim, signal.SIGKILL)

    def nobody_is_left(self) -> bool:
        return not self.worker.solvers() and all(family.is_gone() for family in self.gone)


def is_claimed(run: PlanRun) -> bool:
    run.refresh_from_db()
    return run.status != PlanRun.Status.QUEUED


def all_over(runs: list[PlanRun]) -> bool:
    going_on = PlanRun.objects.filter(pk__in=[run.pk for run in runs], status__in=UNFINISHED)
    return not going_on.exists()


def how_it_ended(run: PlanRun) -> str:
    """Say whether a run stored its result once, whole, or nothing and failed for good."""
    kinds = [plan.kind for plan in run.plans.order_by("pk")]
    is_whole = run.status == PlanRun.Status.DONE and kinds and len(kinds) == len(set(kinds))
    if run.status == PlanRun.Status.FAILED and not kinds and run.attempts == MOST_ATTEMPTS:
        return GIVEN_UP
    return "done" if is_whole else f"{run.status} {run.error} {kinds}"


def waited_s(run: PlanRun, killer: Killer) -> float:
    """Return how long after the kill somebody has begun a run anew."""
    assert run.claimed_at
    return run.claimed_at.timestamp() - killer.at[run.pk][1]


def sum_of(runs: list[PlanRun], killer: Killer) -> str:
    """Say how often who was killed, how many runs were begun anew, and how soon."""
    who = [killer.at[run.pk][0] for run in runs]
    waits = sorted(waited_s(run, killer) for run in runs if run.attempts > 1)
    killed = ", ".join(f"{who.count(one)} times the {one}" for one in (SOLVER, PLANNER, PARENT))
    after = f" after {waits[0]:.1f} to {waits[-1]:.1f} s" if waits else ""
    return f"killed {killed}; {len(waits)} of {len(runs)} runs were begun anew{after}"
