"""What hangs on rooms that somebody wants to remove."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce
from operator import or_

from django.db.models import Q

from finishing.models import Company, Room
from scheduling.models import Pin, PlannedTask, Report
from scheduling.queries.plans import working_plan


@dataclass(frozen=True)
class Hanging:
    """reports: of crews, which stay on record under the room's public id. tasks: of the working
    plan. pins: set by the office and not ended."""

    reports: int
    tasks: int
    pins: int


def hanging_on(company: Company, rooms: Iterable[Room]) -> Hanging:
    """Return what hangs on some rooms, in four queries at most."""
    keys = reduce(or_, (Q(key__startswith=f"{room.public_id}:") for room in rooms), Q(pk=None))
    plan = working_plan(company)
    tasks = PlannedTask.objects.filter(company=company, plan=plan) if plan else None
    return Hanging(
        reports=Report.objects.filter(keys, company=company).count(),
        tasks=tasks.filter(keys).count() if tasks is not None else 0,
        pins=Pin.objects.filter(keys, company=company, ended_at=None).count(),
    )
