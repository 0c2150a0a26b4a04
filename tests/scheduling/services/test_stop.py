"""A run that is asked to stop ends soon, with its best plan stored."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from finishing.models import Company
from scheduling.models import CompanyPlans, PlanRun
from scheduling.services.replan import request_run, run_replan
from scheduling.services.stop import stop_runs
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)


@contextmanager
def stopping_at_first_progress(company: Company) -> Iterator[list[Any]]:
    """Read the row and ask for a stop, as another process would, once the run shows progress."""
    seen: list[Any] = []

    def look(execute: Callable[..., Any], sql: str, *args: Any) -> Any:
        done = execute(sql, *args)
        if sql.startswith("UPDATE") and '"progress" =' in sql and not seen:
            row = PlanRun.objects.get(company=company)
            if row.progress:
                seen.extend([row.status, row.progress[0]])
                assert stop_runs(company=company) == 1
        return done

    with connection.execute_wrapper(look):
        yield seen


def test_progress_is_there_while_it_runs_and_a_stop_keeps_the_plan() -> None:
    company, _ = make_site(rooms=("Hall", "Kitchen"))
    run = request_run(company=company, plan_from=MONDAY, seconds=600)
    began = timezone.now()
    with stopping_at_first_progress(company) as seen:
        plan = run_replan(run_id=run.pk)
    status, progress = seen
    assert status == PlanRun.Status.RUNNING
    assert progress.keys() == {"seconds", "at", "score", "bound", "by"}
    run.refresh_from_db()
    assert (timezone.now() - began).total_seconds() < 60
    assert run.status == PlanRun.Status.DONE
    assert run.error.startswith("stopped on request")
    assert plan is not None
    assert plan.tasks.count() == 10
    assert CompanyPlans.objects.get(company=company).working == plan


def test_how_far_a_run_is_can_be_read(capsys: pytest.CaptureFixture[str]) -> None:
    company, _ = make_site()
    call_command("progress")
    assert "no planning is going on" in capsys.readouterr().out
    run = request_run(company=company, plan_from=MONDAY)
    call_command("progress")
    assert "queued: no plan yet" in capsys.readouterr().out
    score = [125, 4, 30, 9000, 5]
    run.progress = [{"seconds": 1.26, "score": score, "bound": 60, "by": "walk"}]
    run.status = PlanRun.Status.RUNNING
    run.save()
    call_command("progress")
    printed = capsys.readouterr().out
    assert "running: 125 weighted minutes" in printed
    assert "none below 60" in printed
    assert "found after 1.3 s" in printed


def test_a_run_stopped_before_it_begins_has_the_first_plan() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, seconds=600)
    out = StringIO()
    call_command("stop_run", stdout=out)
    assert "1 asked to stop" in out.getvalue()
    plan = run_replan(run_id=run.pk)
    assert plan is not None
    assert plan.tasks.exists()


def test_only_the_companys_own_unfinished_runs_are_asked() -> None:
    company, _ = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    run_replan(run_id=run.pk)
    other = Company.objects.create(name="Another", zone="UTC")
    request_run(company=other, plan_from=MONDAY)
    assert stop_runs(company=company) == 0
    with pytest.raises(CommandError, match="no planning is going on"):
        call_command("stop_run", "--company", company.name)
    assert stop_runs(company=other) == 1
