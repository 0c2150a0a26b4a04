"""What publishing a plan changes: visits that are new, moved, cancelled, or as they were."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from heapq import merge
from itertools import groupby
from operator import itemgetter
from typing import Any, ClassVar
from uuid import uuid4

from finishing.models import Company
from scheduling.models import PlannedTask, Visit
from scheduling.queries.visits import Block
from scheduling.services.begun_visits import only_what_has_begun, with_what_is_done
from scheduling.services.visit_content import freeze_content, task_minutes, told_crew
from scheduling.services.visit_matching import Work, match_work
from scheduling.timezones import pinned_zone
from scheduling.visit_wording import visit_description, visit_title

AT_ONCE = 100
"""Rows that are read at a time: together they have megabytes."""


@dataclass
class VisitChanges:
    """Visits by what happens to them; nothing is stored yet.

    revived: cancelled before, planned again; the crew's calendar shows the same entry back.
    unchanged: how many are as they were.
    """

    FIELDS: ClassVar = [
        "sequence",
        "starts_at",
        "ends_at",
        "task_minutes",
        "content",
        "modified_at",
        "cancelled_at",
        "version",
    ]
    """What changes in a visit that is stored already."""

    new: list[Visit] = field(default_factory=list)
    revived: list[Visit] = field(default_factory=list)
    moved: list[Visit] = field(default_factory=list)
    cancelled: list[Visit] = field(default_factory=list)
    unchanged: int = 0

    @property
    def any(self) -> bool:
        return bool(self.new or self.revived or self.moved or self.cancelled)


def visit_changes(company: Company, blocks: Sequence[Block], now: datetime) -> VisitChanges:
    """Compare blocks to come with published visits that have not ended at ``now``.

    A crew at a time: none takes over another's visit, and what all of them say, twice, is much.
    """
    by_crew: dict[int, list[Block]] = defaultdict(list)
    for block in blocks:
        by_crew[block.crew.pk].append(block)
    changes = VisitChanges()
    for crew, visits, details in _said_by_crew(company, blocks, now):
        drafts = [_draft(block, details, now) for block in by_crew[crew]]
        _add_changes(changes, visits, drafts, now)
    return changes


type Details = dict[int, Mapping[str, Any]]
"""By task (pk). Blocks themselves never hold what is said of their tasks."""


def _said_by_crew(
    company: Company, blocks: Iterable[Block], now: datetime
) -> Iterator[tuple[int, list[Visit], Details]]:
    """Read crew by crew, in two queries, the published visits and what blocks are to say."""
    published = Visit.objects.filter(company=company, ends_at__gt=now)
    visits = published.select_related("crew", "house").order_by("crew_id")
    tasks = [task.pk for block in blocks for task in block.tasks]
    planned = PlannedTask.objects.filter(company=company, pk__in=tasks).order_by("crew_id")
    streams: tuple[Iterable[tuple[int, Any]], ...] = (
        ((visit.crew_id, visit) for visit in visits.iterator(AT_ONCE)),
        ((task.crew_id, task) for task in planned.only("crew_id", "details").iterator(AT_ONCE)),
    )
    for crew, rows in groupby(merge(*streams, key=itemgetter(0)), key=itemgetter(0)):
        told: list[Visit] = []
        details: Details = {}
        for _crew, row in rows:
            if isinstance(row, Visit):
                told.append(row)
            else:
                details[row.pk] = row.details
        yield crew, told, details


def _add_changes(
    changes: VisitChanges, visits: Sequence[Visit], drafts: Sequence[Visit], now: datetime
) -> None:
    live = [visit for visit in visits if visit.cancelled_at is None]
    pairs, gone, others = match_work(_works(live), _works(drafts))
    cancelled = [visit for visit in visits if visit.cancelled_at is not None]
    revived, _, new = match_work(_works(cancelled), _works(others))
    changes.new += new
    for visit, fresh in pairs:
        _add_taken_over(changes, visit, with_what_is_done(visit, fresh, now), now)
    for visit, draft in revived:
        _take_over(visit, draft, now)
        changes.revived.append(visit)
    for visit in gone:
        begun = only_what_has_begun(visit, now)
        if begun is None:
            _touch(visit, now)
            visit.cancelled_at = visit.modified_at
            changes.cancelled.append(visit)
        else:
            _add_taken_over(changes, visit, begun, now)


def _add_taken_over(changes: VisitChanges, visit: Visit, draft: Visit, now: datetime) -> None:
    if _are_same(visit, draft):
        changes.unchanged += 1
    else:
        _take_over(visit, draft, now)
        changes.moved.append(visit)


def _draft(block: Block, details: Mapping[int, Mapping[str, Any]], now: datetime) -> Visit:
    return Visit(
        company=block.crew.company,
        crew=block.crew,
        house=block.house,
        uid=uuid4(),
        starts_at=block.starts_at,
        ends_at=block.ends_at,
        task_minutes=task_minutes(block),
        content=freeze_content(block, details),
        created_at=now,
        modified_at=now,
    )


def _works(visits: Iterable[Visit]) -> list[Work[Visit]]:
    return [
        Work(visit, (visit.crew_id, visit.house_id), visit.starts_at, visit.task_minutes)
        for visit in visits
    ]


def _are_same(one: Visit, other: Visit) -> bool:
    """Return whether a crew sees the same of two visits; most are, to the last code and value."""
    if (one.starts_at, one.ends_at) != (other.starts_at, other.ends_at):
        return False
    return one.content == other.content or _seen(one) == _seen(other)


def _seen(visit: Visit) -> tuple[Any, ...]:
    """Return what a crew sees of a visit: only a change of this is a change."""
    zone = pinned_zone(visit.crew.zone)
    return (
        visit_title(visit.content),
        visit_description(visit.content, zone),
        visit.content["house"],
        told_crew(visit),
    )


def _take_over(visit: Visit, draft: Visit, now: datetime) -> None:
    visit.starts_at, visit.ends_at = draft.starts_at, draft.ends_at
    visit.task_minutes, visit.content = draft.task_minutes, draft.content
    visit.cancelled_at = None
    _touch(visit, now)


def _touch(visit: Visit, now: datetime) -> None:
    """Mark a change. Calendars ignore one whose stamp is not later than what they have."""
    visit.sequence += 1
    visit.version += 1
    visit.modified_at = max(now, visit.modified_at + timedelta(seconds=1))
