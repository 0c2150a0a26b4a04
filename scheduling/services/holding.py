"""Whose a planning run is: whoever has begun it last holds it, until the row says otherwise."""

from django.db.models import QuerySet

from scheduling.models import PlanRun


def held(run: PlanRun) -> QuerySet[PlanRun]:
    """Return a run's row where it is still of whoever has this object: nobody has called it lost,
    begun it anew, or stopped it for a newer one."""
    return PlanRun.all_kinds.filter(pk=run.pk, status=PlanRun.Status.RUNNING, attempts=run.attempts)


def write_fields(run: PlanRun, *names: str) -> bool:
    """Store fields of a run as they are in this object, unless it is another's by now; return
    whether they are stored."""
    return held(run).update(**{name: getattr(run, name) for name in names}) == 1
