"""A run that was called lost, and goes on all the same."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from scheduling.models import CompanyPlans, Plan, PlanRun
from scheduling.services.engine import Solved, solve
from scheduling.services.lost_runs import give_up_lost_runs
from scheduling.services.replan import GivenUpError, request_run, run_replan
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
