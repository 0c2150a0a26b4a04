"""What years leave behind in a company's rows: old plans, their runs, visits and reports, and
houses that are over."""

import copy
from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

if TYPE_CHECKING:
    from finishing.models import Company

YEARS = 3
"""With a plan of each. Of an old plan all tasks are there, as of the current one: 2,000 with four
times 500."""


def put_past_year(company: "Company", years_ago: int) -> None:
    """Add a plan made so long ago, published and reported on as it was done, of houses that have
    been over since. The company has published one plan of its own."""
    from scheduling.models import Publication

    rows = Publication.objects.filter(company=company)
    last = rows.latest("published_at")
    rows.filter(pk=last.pk).update(revision=YEARS + 1)
    _put_one(company, last, YEARS + 1 - years_ago, timedelta(days=340 * years_ago))


def _put_one(company: "Company", last: Any, revision: int, before: timedelta) -> None:
    from scheduling.models import PlannedTask, Report, Visit

    run = _again(last.plan.run, problem={}, progress=[], requested_at=last.published_at - before)
    run.save()
    plan = _again(last.plan, run=run, created_at=last.published_at - before)
    plan.save()
    _again(last, plan=plan, revision=revision, published_at=last.published_at - before).save()
    houses = _houses_then(company, revision)
    tasks = [
        _again(task, plan=plan, house_id=houses[task.house_id], area=None, **_earlier(task, before))
        for task in last.plan.tasks.all()
    ]
    PlannedTask.objects.bulk_create(tasks)
    visits = Visit.objects.filter(company=company, starts_at__gte=last.published_at)
    Visit.objects.bulk_create(
        _again(visit, uid=uuid4(), house_id=houses[visit.house_id], **_earlier(visit, before))
        for visit in visits
    )
    Report.objects.bulk_create(_done(company, tasks))


def _houses_then(company: "Company", revision: int) -> dict[int, int]:
    """Make as many houses as there are now, over by now; return them by those (primary keys)."""
    from finishing.models import House

    then = {}
    for house in House.objects.filter(company=company, is_active=True):
        over = _again(house, name=f"{house.name}, plan {revision}", is_active=False)
        over.save()
        then[house.pk] = over.pk
    return then


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
