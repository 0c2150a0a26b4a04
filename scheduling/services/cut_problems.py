"""What is left of the problem of a run that is long over.

It has megabytes for forty houses, nearly all of it how coats dry. What pages of old runs show needs
who is there when and how long the ways are: so much stays, and what a plan has cost can be told.
"""

from datetime import datetime, timedelta

from django.conf import settings

from scheduling.models import PlanRun
from scheduling.queries.runs import PAID_TIME, parts_by_run, runs_over_before

MOST_AT_ONCE = 20
"""Each is a megabyte or more to write; the others are for the next time."""


def cut_problems(*, now: datetime) -> int:
    """Cut the problems of runs that ended ``settings.RUN_PROBLEM_DAYS`` ago and that nothing is
    held against, the oldest first and so many at once; return how many."""
    over = runs_over_before(now - timedelta(days=settings.RUN_PROBLEM_DAYS))
    ids = list(over.values_list("pk", flat=True)[:MOST_AT_ONCE])
    for run_id, parts in parts_by_run(ids, PAID_TIME).items():
        PlanRun.objects.filter(pk=run_id).update(problem=dict(parts), problem_cut=True)
    return len(ids)
