"""What three years leave behind in a company's rows: old plans, their runs, visits and reports."""

import copy
from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

if TYPE_CHECKING:
    from finishing.models import Company

YEARS, OLD_PLANS = 3, 3
"""Of each old plan all tasks are there, as of the current one: 2,000 with four times 500."""


def put_past_years(company: "Company") -> None:
    """Add old plans, evenly over three years, each published and reported on as it was done."""
    from scheduling.models import Publication

    last = Publication.objects.get(company=company)
    Publication.objects.filter(pk=last.pk).update(revision=OLD_PLANS + 1)
    for number in range(OLD_PLANS):
        before = timedelta(days=(OLD_PLANS - number) * 365 * YEARS // OLD_PLANS)
        _put_one(company, last, number + 1, before)


def _put_one(company: "Company", last: Any, revision: int, before: timedelta) -> None:
    from scheduling.models import PlannedTask, Report, Visit

    run = _again(last.plan.run, problem={}, progress=[], requested_at=last.published_at - before)
    run.save()
    plan = _again(last.plan, run=run, created_at=last.published_at - before)
    plan.save()
    _again(last, plan=plan, revision=revision, published_at=last.published_at - before).save()
    tasks = [_again(task, plan=plan, **_earlier(task, before)) for task in last.plan.tasks.all()]
    PlannedTask.objects.bulk_create(tasks)
    visits = Visit.objects.filter(company=company, starts_at__gte=last.published_at)
    Visit.objects.bulk_create(
        _again(visit, uid=uuid4(), **_earlier(visit, before)) for visit in visits
    )
    Report.objects.bulk_create(_done(company, tasks))


def _earlier(row: Any, before: timedelta) -> dict[str, Any]:
    return {"starts_at": row.starts_at - before, "ends_at": row.ends_at - before}


def _done(company: "Company", tasks: Sequence[Any]) -> list[Any]:
    """Say of each task that it was done, under a key of work that is over for long."""
    from scheduling.models import Report

    return [
        Report(
            company=company,
            crew_id=task.crew_id,
            kind=Report.Kind.DONE,
            key=f"{uuid4()}:{task.stage}",
            at=task.ends_at,
            said_at=task.ends_at,
        )
        for task in tasks
    ]


def _again(row: Any, **fields: Any) -> Any:
    """Return the same row once more, not stored yet, with other values."""
    from finishing.models.owned import uuid7

    new = copy.copy(row)
    new._state = copy.copy(row._state)
    new._state.adding, new._state.fields_cache = True, {}
    new.pk, new.public_id = None, uuid7()
    for name, value in fields.items():
        setattr(new, name, value)
    return new
