"""Visits that crews have worked and reported, many at a time; what a crew's taps come to is in
``test_reported_visits.py``."""

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from scheduling.models import Report, SentReport, Visit


def copied(visit: Visit, later: timedelta, *, people: int = 2) -> Visit:
    """Return a published visit like another, of rooms of its own, so much later."""
    row = Visit.objects.create(
        company=visit.company,
        crew=visit.crew,
        house=visit.house,
        uid=uuid4(),
        starts_at=visit.starts_at + later,
        ends_at=visit.ends_at + later,
        content={
            **visit.content,
            "tasks": [_moved(task, later) for task in visit.content["tasks"]],
        },
        created_at=visit.created_at,
        modified_at=visit.created_at,
    )
    for number in range(1, people + 1):
        row.people.create(
            company=visit.company,
            person=f"{visit.crew.name} {number}",
            created_at=visit.created_at,
            modified_at=visit.created_at,
        )
    return row


def _moved(task: dict[str, Any], later: timedelta) -> dict[str, Any]:
    times = {name: datetime.fromisoformat(task[name]) + later for name in ("starts_at", "ends_at")}
    stamps = {name: at.isoformat() for name, at in times.items()}
    return {**task, "key": f"{uuid4()}:{task['stage']}", **stamps}


def worked(
    visit: Visit,
    minutes: int,
    *,
    begun: datetime | None = None,
    people: int | None = None,
    started: bool = True,
) -> None:
    """Report the work of a visit begun and, so many minutes later, all of its tasks done; it is
    said to be finished after its wash-up."""
    begun = begun or visit.starts_at
    tasks, ended = visit.content["tasks"], begun + timedelta(minutes=minutes)
    washed_up = ended + (visit.ends_at - max(datetime.fromisoformat(t["ends_at"]) for t in tasks))
    if started:
        reported(visit, tasks[0], Report.Kind.STARTED, begun)
    for task in tasks:
        reported(visit, task, Report.Kind.DONE, ended)
    said = {"left": {}} if people is None else {"left": {}, "people": people}
    SentReport.objects.create(
        company=visit.company,
        sent_as=uuid4(),
        crew=visit.crew,
        visit=visit,
        action="finished",
        said=said,
        at=washed_up,
        said_at=washed_up,
    )


def reported(visit: Visit, task: dict[str, Any], kind: str, at: datetime, **more: Any) -> Report:
    """Store one report of a task of a visit, as it is published."""
    names = ("key", "starts_at", "ends_at", "person_minutes", "part", "compound")
    return Report.objects.create(
        company=visit.company,
        crew=visit.crew,
        kind=kind,
        key=task["key"],
        at=at,
        said_at=at,
        about={name: task[name] for name in names},
        **more,
    )
