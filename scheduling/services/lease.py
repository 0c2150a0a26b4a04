"""The lease of a planning run: as long as whoever makes the plan is alive, its row says so.

A process that is killed says nothing any more; by its lease others know that it is gone, and one
of them begins the run anew (``lost_runs.py``).
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from threading import Event, Thread

from django.conf import settings
from django.db import Error, connections
from django.utils import timezone

from scheduling.models import PlanRun
from scheduling.services.holding import held

log = logging.getLogger(__name__)
RENEWALS = 4
"""In each lease: one or two that the database does not take are no loss."""


def lease_from(now: datetime) -> datetime:
    """Return until when a run that somebody is alive for now counts as going on."""
    return now + timedelta(seconds=settings.RUN_LEASE_SECONDS)


@contextmanager
def kept_lease(run: PlanRun) -> Iterator[None]:
    """Renew a run's lease, in a thread of its own, until the block is over."""
    over = Event()
    keeper = Thread(target=_keep, args=(run, over), name="lease", daemon=True)
    keeper.start()
    try:
        yield
    finally:
        over.set()
        keeper.join()


def _keep(run: PlanRun, over: Event) -> None:
    try:
        while not over.wait(settings.RUN_LEASE_SECONDS / RENEWALS):
            _renew(run)
    finally:
        connections.close_all()


def _renew(run: PlanRun) -> None:
    try:
        held(run).update(lease_until=lease_from(timezone.now()))
    except Error as error:  # the next renewal has a connection of its own
        connections.close_all()
        log.warning("the lease of run %s is not renewed: %s", run.pk, error)
