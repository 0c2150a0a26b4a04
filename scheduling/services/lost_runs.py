"""Planning runs whose worker is gone: nobody will ever say how they ended."""

from datetime import datetime, timedelta

from django.db.models import QuerySet

from scheduling.models import PlanRun
from scheduling.services.lease import lease_from

LOST = "LostRunError: the process that made this plan has ended"
OFTENEST = 4
"""How often one run may search: the first time, and again until plan and air agree."""
AROUND_SEARCHING = timedelta(minutes=5)
"""For reading rows, checking plans and storing them, on a slow and busy machine."""


def give_up_lost_runs(*, now: datetime) -> int:
    """Call runs failed whose lease is over, or that have been going on for longer than they can;
    return how many."""
    running = PlanRun.objects.filter(status=PlanRun.Status.RUNNING)
    _shorten_leases_of_another_clock(running, now)
    lost = [run.pk for run in running if is_lost(run, now)]
    return running.filter(pk__in=lost).update(
        status=PlanRun.Status.FAILED, finished_at=now, error=LOST
    )


def is_lost(run: PlanRun, now: datetime) -> bool:
    """Return whether nobody is alive for a run that is going on, or it was claimed too long ago."""
    if run.lease_until is not None and run.lease_until < now:
        return True
    most = OFTENEST * timedelta(seconds=run.seconds) + AROUND_SEARCHING
    return run.claimed_at is not None and run.claimed_at + most < now


def _shorten_leases_of_another_clock(running: QuerySet[PlanRun], now: datetime) -> None:
    """Nobody renews for longer than one lease: one that ends much later is from before the clock
    was set back, and would keep a dead run for as long as it was set back by."""
    longest = now + 2 * (lease_from(now) - now)
    running.filter(lease_until__gt=longest).update(lease_until=lease_from(now))
