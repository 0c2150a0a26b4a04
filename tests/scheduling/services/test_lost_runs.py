"""Runs whose worker is gone, or is called gone and goes on all the same."""

from datetime import datetime, timedelta
from threading import Event
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import Settings

from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.services.engine import Solved, solve
from scheduling.services.lease import kept_lease
from scheduling.services.lost_runs import LOST, MOST_ATTEMPTS, look_for_lost_runs
from scheduling.services.replan import request_run, run_replan
from scheduling.services.run_record import GivenUpError
from tests.factories import make_company
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_run_that_was_called_lost_stores_nothing_when_it_ends_after_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)

    def solved_late(*args: Any, **kwargs: Any) -> Solved:
        solved = solve(*args, **kwargs)
        run.lease_until = None
        run.save(update_fields=["lease_until"])  # it says it is alive, and is stuck
        look_for_lost_runs(now=timezone.now() + timedelta(hours=2))
        return solved

    monkeypatch.setattr("scheduling.services.replan.solve", solved_late)
    with pytest.raises(GivenUpError):
        run_replan(run_id=run.pk)
    run.refresh_from_db()
    assert run.status == PlanRun.Status.FAILED
    assert not Plan.objects.filter(company=company).exists()
    assert not CompanyPlans.objects.filter(company=company, working__isnull=False).exists()


def test_who_was_called_gone_stores_nothing_over_what_another_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A computer that slept, say: by the time it goes on, its run has been begun anew."""
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    others: list[Plan | None] = []

    def solved_late(*args: Any, **kwargs: Any) -> Solved:
        solved = solve(*args, **kwargs)
        if not others:
            others.append(None)
            freed = look_for_lost_runs(now=timezone.now() + timedelta(hours=2))
            assert freed == [run.pk]
            others[0] = run_replan(run_id=run.pk)
        return solved

    monkeypatch.setattr("scheduling.services.replan.solve", solved_late)
    assert run_replan(run_id=run.pk) is None, "it is told that the run is another's"
    run.refresh_from_db()
    assert (run.status, run.error, run.attempts) == (PlanRun.Status.DONE, "", 2)
    assert [run.plans.get()] == others
    assert CompanyPlans.objects.get(company=company).working == others[0]
    assert [step["code"] for step in run.steps].count("dryers") == 1, "of the second alone"


def going_on(lease_until: datetime | None, attempts: int = 1) -> PlanRun:
    run = request_run(company=make_company(), plan_from=MONDAY, seconds=10)
    run.status, run.claimed_at, run.lease_until = PlanRun.Status.RUNNING, MONDAY, lease_until
    run.attempts = attempts
    run.save()
    return run


def test_a_run_counts_as_lost_when_its_lease_is_over() -> None:
    run = going_on(MONDAY + timedelta(seconds=30))
    assert look_for_lost_runs(now=MONDAY + timedelta(seconds=30)) == []
    assert look_for_lost_runs(now=MONDAY + timedelta(seconds=31)) == [run.pk]
    run.refresh_from_db()
    assert (run.status, run.claimed_at, run.lease_until) == (PlanRun.Status.QUEUED, None, None)
    assert look_for_lost_runs(now=MONDAY + timedelta(seconds=31)) == [], "one starts it again"


def test_a_run_that_ends_whoever_does_it_fails_at_last() -> None:
    run, late = going_on(MONDAY, MOST_ATTEMPTS), MONDAY + timedelta(seconds=1)
    assert look_for_lost_runs(now=late) == []
    run.refresh_from_db()
    assert (run.status, run.error, run.finished_at) == (PlanRun.Status.FAILED, LOST, late)


def test_a_clock_set_back_an_hour_keeps_no_dead_run_and_takes_none_that_goes_on(
    settings: Settings,
) -> None:
    settings.RUN_LEASE_SECONDS = 30
    run = going_on(MONDAY + timedelta(seconds=30))
    back = MONDAY - timedelta(hours=1)
    assert look_for_lost_runs(now=back) == [], "it may be alive"
    assert look_for_lost_runs(now=back + timedelta(seconds=30)) == []
    assert look_for_lost_runs(now=back + timedelta(seconds=31)) == [run.pk]


def test_a_lease_is_renewed_while_the_work_goes_on(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.RUN_LEASE_SECONDS = 0.04
    renewed, again = [], Event()

    def renew(run: PlanRun) -> None:
        renewed.append(run.pk)
        if len(renewed) == 2:
            again.set()

    monkeypatch.setattr("scheduling.services.lease._renew", renew)
    run = going_on(None)
    with kept_lease(run):
        assert again.wait(30)
    assert set(renewed) == {run.pk}
