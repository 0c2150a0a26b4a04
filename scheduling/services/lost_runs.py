"""Planning runs whose worker is gone: nobody will ever say how they ended."""

from datetime import datetime, timedelta

from scheduling.models import PlanRun

LOST = "LostRunError: the process that made this plan has ended"
OFTENEST = 4
"""How often one run may search: the first time, and again until plan and air agree."""
AROUND_SEARCHING = timedelta(minutes=5)
"""For reading rows, checking plans and storing them, on a slow and busy machine."""


def give_up_lost_runs(*, now: datetime) -> int:
    """Call runs failed that have been going on for longer than they can; return how many."""
    running = PlanRun.objects.filter(status=PlanRun.Status.RUNNING)
    lost = [run.pk for run in running if is_lost(run, now)]
    return running.filter(pk__in=lost).update(
        status=PlanRun.Status.FAILED, finished_at=now, error=LOST
    )


def is_lost(run: PlanRun, now: datetime) -> bool:
    """Return whether a run that is going on was claimed too long ago."""
    most = OFTENEST * timedelta(seconds=run.seconds) + AROUND_SEARCHING
    return run.claimed_at is not None and run.claimed_at + most < now
