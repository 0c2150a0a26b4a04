"""A run that was called lost, and goes on all the same."""

from datetime import datetime, timedelta
from threading import Event
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import Settings

from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.services.engine import Solved, solve
from scheduling.services.lease import kept_lease
from scheduling.services.lost_runs import give_up_lost_runs
from scheduling.services.replan import GivenUpError, request_run, run_replan
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
        give_up_lost_runs(now=timezone.now() + timedelta(hours=2))
        return solved

    monkeypatch.setattr("scheduling.services.replan.solve", solved_late)
    with pytest.raises(GivenUpError):
        run_replan(run_id=run.pk)
    run.refresh_from_db()
    assert run.status == PlanRun.Status.FAILED
    assert not Plan.objects.filter(company=company).exists()
    assert not CompanyPlans.objects.filter(company=company, working__isnull=False).exists()


def going_on(lease_until: datetime | None) -> PlanRun:
    run = request_run(company=make_company(), plan_from=MONDAY, seconds=10)
    run.status, run.claimed_at, run.lease_until = PlanRun.Status.RUNNING, MONDAY, lease_until
    run.save()
    return run


def test_a_run_counts_as_lost_when_its_lease_is_over() -> None:
    run = going_on(MONDAY + timedelta(seconds=30))
    assert give_up_lost_runs(now=MONDAY + timedelta(seconds=30)) == 0
    assert give_up_lost_runs(now=MONDAY + timedelta(seconds=31)) == 1
    run.refresh_from_db()
    assert run.status == PlanRun.Status.FAILED


def test_a_clock_set_back_an_hour_keeps_no_dead_run_and_takes_none_that_goes_on(
    settings: Settings,
) -> None:
    settings.RUN_LEASE_SECONDS = 30
    going_on(MONDAY + timedelta(seconds=30))
    back = MONDAY - timedelta(hours=1)
    assert give_up_lost_runs(now=back) == 0, "it may be alive"
    assert give_up_lost_runs(now=back + timedelta(seconds=30)) == 0
    assert give_up_lost_runs(now=back + timedelta(seconds=31)) == 1


def test_a_lease_is_renewed_while_the_work_goes_on(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.RUN_LEASE_SECONDS = 0.04
    renewed, again = [], Event()

    def renew(run_id: int) -> None:
        renewed.append(run_id)
        if len(renewed) == 2:
            again.set()

    monkeypatch.setattr("scheduling.services.lease._renew", renew)
    run = going_on(None)
    with kept_lease(run):
        assert again.wait(30)
    assert set(renewed) == {run.pk}
