"""One run at a time for the plan to work on, for each scenario and for each quote: a newer one
stops those that go on for the same, which say so.

What they have found by then is not stored: the newer one was asked for because something is
different, and plans from the rows as they are now.
"""

from datetime import datetime

from django.db.models import QuerySet

from scheduling.models import PlanRun

OVERTAKEN = "NewerRunError: another plan was asked for meanwhile"


def stop_older_runs(*, run: PlanRun, now: datetime) -> int:
    """Stop what goes on for the run's company and was asked for before it; return how many."""
    older = _going_on(run).filter(pk__lt=run.pk)
    return older.update(
        status=PlanRun.Status.FAILED,
        stop_requested=True,
        finished_at=now,
        error=OVERTAKEN,
        overtaken_by=run,
    )


def begin_unless_overtaken(*, run: PlanRun, now: datetime) -> bool:
    """Stop older runs, now that this one begins; where a newer one goes on already, stop this one
    and return False."""
    newer = _going_on(run).filter(pk__gt=run.pk).first()
    if newer:
        stop_older_runs(run=newer, now=now)
        return False
    stop_older_runs(run=run, now=now)
    return True


def _going_on(run: PlanRun) -> QuerySet[PlanRun]:
    """Return what goes on for the same: the company's plan to work on, or the run's scenario or
    quote."""
    return PlanRun.all_kinds.filter(
        company=run.company_id,
        scenario=run.scenario_id,
        quote=run.quote_id,
        status=PlanRun.Status.RUNNING,
    )


def hurry(*, run: PlanRun, plan_from: datetime) -> bool:
    """Have a run that has not begun plan from this moment on, for somebody who waits for it;
    return whether it was waiting for its turn by the clock, and has to be sent again to go first.
    """
    was_by_the_clock = run.priority != PlanRun.Priority.ASKED
    run.priority = PlanRun.Priority.ASKED
    run.save(update_fields=["priority"])
    ask_anew(run=run, plan_from=plan_from)
    return was_by_the_clock


def ask_anew(*, run: PlanRun, plan_from: datetime) -> None:
    """Have a run that has not begun plan from this moment on, whoever stopped it before it was
    asked for again."""
    run.plan_from, run.stop_requested = plan_from, False
    run.save(update_fields=["plan_from", "stop_requested"])
