"""Visits under way when a newer plan is published: what is done in them stays on record.

A later plan is made from what the published visits say was done, so a task that has ended must
not vanish from its visit, and one that was moved away must not stay in it as if it were done.
"""

from datetime import datetime
from typing import Any

from scheduling.models import Visit


def with_what_is_done(visit: Visit, draft: Visit, now: datetime) -> Visit:
    """Return the draft that takes a visit's place, with the tasks that have ended in it."""
    planned = {row["key"] for row in draft.content["tasks"]}
    ended = [
        row
        for row in visit.content["tasks"]
        if _instant(row["ends_at"]) <= now and row["key"] not in planned
    ]
    if not ended:
        return draft
    return _like(
        draft,
        [*ended, *draft.content["tasks"]],
        visit,
        starts_at=visit.starts_at,
        ends_at=draft.ends_at,
    )


def only_what_has_begun(visit: Visit, now: datetime) -> Visit | None:
    """Return a visit that no newer plan goes on with, cut to the tasks that have begun; None
    where none has, so that it can be called off."""
    tasks = visit.content["tasks"]
    begun = [row for row in tasks if _instant(row["starts_at"]) <= now]
    if not begun:
        return None
    if len(begun) == len(tasks):
        return visit
    after = visit.ends_at - _instant(tasks[-1]["ends_at"])
    ends_at = _instant(begun[-1]["ends_at"]) + after
    return _like(visit, begun, visit, starts_at=visit.starts_at, ends_at=ends_at)


def _like(
    template: Visit,
    tasks: list[dict[str, Any]],
    before: Visit,
    *,
    starts_at: datetime,
    ends_at: datetime,
) -> Visit:
    minutes = {**before.task_minutes, **template.task_minutes}
    return Visit(
        company=template.company,
        crew=template.crew,
        house=template.house,
        uid=template.uid,
        starts_at=starts_at,
        ends_at=ends_at,
        task_minutes={row["key"]: minutes[row["key"]] for row in tasks},
        content={**template.content, "tasks": tasks},
        created_at=template.created_at,
        modified_at=template.modified_at,
    )


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text)
