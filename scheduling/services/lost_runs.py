"""Planning runs whose worker is gone: somebody else begins them anew, a few times."""

from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from scheduling.models import PlanRun
from scheduling.services.lease import lease_from

LOST = "LostRunError: the process that made this plan has ended, and so have those that tried again"
STUCK = "StuckRunError: it went on for longer than a run can"
MOST_ATTEMPTS = 3
"""A run that ends whoever does it, by the memory that it needs for instance, is not to go round for
ever."""
OFTENEST = 4
"""How often one run may search: the first time, and again until plan and air agree."""
AROUND_SEARCHING = timedelta(minutes=5)
"""For reading rows, checking plans and storing them, on a slow and busy machine."""


def look_for_lost_runs(*, now: datetime) -> list[int]:
    """Put runs whose lease is over back in the queue, and return them (primary keys), to be started
    again; call failed those that have been begun too often, or go on for longer than they can."""
    running = PlanRun.all_kinds.filter(status=PlanRun.Status.RUNNING)
    if not (going_on := list(running)):  # as nearly always: pages look for them too
        return []
    _shorten_leases_of_another_clock(running, now)
    over, stuck = Q(lease_until__lt=now), [run.pk for run in going_on if _is_stuck(run, now)]
    _give_up(running.filter(over, attempts__gte=MOST_ATTEMPTS), LOST, now)
    _give_up(running.exclude(over).filter(pk__in=stuck), STUCK, now)
    lost = running.filter(over).values_list("pk", flat=True)
    return [pk for pk in lost if _put_back(running.filter(over, pk=pk))]


def _put_back(run: QuerySet[PlanRun]) -> bool:
    """Return whether a run is queued now, which only one of those who look at once makes it."""
    return run.update(status=PlanRun.Status.QUEUED, claimed_at=None, lease_until=None) == 1


def _give_up(runs: QuerySet[PlanRun], error: str, now: datetime) -> None:
    runs.update(status=PlanRun.Status.FAILED, finished_at=now, error=error)


def _is_stuck(run: PlanRun, now: datetime) -> bool:
    """Return whether a run was claimed too long ago, however alive whoever does it says it is."""
    most = OFTENEST * timedelta(seconds=run.seconds) + AROUND_SEARCHING
    return run.claimed_at is not None and run.claimed_at + most < now


def _shorten_leases_of_another_clock(running: QuerySet[PlanRun], now: datetime) -> None:
    """Nobody renews for longer than one lease: one that ends much later is from before the clock
    was set back, and would keep a dead run for as long as it was set back by."""
    longest = now + 2 * (lease_from(now) - now)
    running.filter(lease_until__gt=longest).update(lease_until=lease_from(now))
