"""Published visits with what their crews have said of them: when, how many people, which work."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Company, Crew, House
from finishing.rules.worked_time import Hours, worked_minutes
from scheduling.models import ExtraWork, Report, SentReport, Visit
from scheduling.queries.reports import Said
from scheduling.services.reported import last_of_work
from scheduling.services.timeline import local_instant

Kind = Report.Kind
Action = SentReport.Action
type TaskRow = Mapping[str, Any]


@dataclass(frozen=True)
class ReportedVisit:
    """A visit beside its reports. Tasks are those of ``Visit.content``.

    people: who was to be there. said_heads: how many were, where the crew said so. set_up, wash_up:
    as published. started_at, ended_at: of the work between these, as reported, None where nobody
    has; a crew says that it started when it comes, and finished once it has washed up. done:
    reported done; left: reported not done, or not all of it; partly: whether some of what was left
    was done; silent: not reported. extra_minutes: person-minutes of extra work noted.
    """

    visit: Visit
    people: tuple[str, ...]
    said_heads: int | None
    set_up: timedelta
    wash_up: timedelta
    started_at: datetime | None
    ended_at: datetime | None
    done: tuple[TaskRow, ...]
    left: tuple[TaskRow, ...]
    partly: bool
    silent: tuple[TaskRow, ...]
    extra_minutes: int

    @property
    def heads(self) -> int:
        """How many people were there, as said or else as planned."""
        return len(self.people) if self.said_heads is None else self.said_heads

    def minutes_from(self, start: datetime) -> int | None:
        """Return the minutes from ``start`` to the reported end without breaks; None where there
        is no end on the same local day."""
        end, zone = self.ended_at, ZoneInfo(self.visit.crew.zone)
        if end is None or end < start:
            return None
        if end.astimezone(zone).date() != start.astimezone(zone).date():
            return None
        return worked_minutes(start, end, _hours(self.visit.crew, start, zone))


def reported_visits(
    company: Company,
    first: datetime,
    last: datetime,
    *,
    crew: Crew | None = None,
    house: House | None = None,
) -> list[ReportedVisit]:
    """Return the visits that began from ``first`` on and before ``last`` and were not called off,
    the earliest first; in a fixed number of queries."""
    rows = Visit.objects.filter(
        company=company, cancelled_at=None, starts_at__gte=first, starts_at__lt=last
    )
    if crew:
        rows = rows.filter(crew=crew)
    if house:
        rows = rows.filter(house=house)
    visits = list(
        rows.select_related("crew__company", "house").prefetch_related("crew__hours", "people")
    )
    reports = _reports_by_task(company, visits)
    taps = _taps(company, visits)
    extra = _extra_minutes(company, visits)
    return [_beside(visit, reports, taps[visit.pk], extra[visit.pk]) for visit in visits]


type ByTask = Mapping[tuple[str, str], Said]
"""Reports by a task's key and its published start: a task that was left undone keeps its key."""


def _reports_by_task(company: Company, visits: Iterable[Visit]) -> ByTask:
    keys = {task["key"] for visit in visits for task in visit.content["tasks"]}
    said: defaultdict[tuple[str, str], dict[str, Report]] = defaultdict(dict)
    for report in Report.objects.filter(company=company, key__in=keys).exclude(kind=Kind.NOT_DRY):
        said[report.key, report.about.get("starts_at", "")][report.kind] = report
    return said


type Taps = Mapping[str, SentReport]
"""What a crew said first of when it started, and last of when it finished."""


def _taps(company: Company, visits: Iterable[Visit]) -> defaultdict[int, dict[str, SentReport]]:
    found: defaultdict[int, dict[str, SentReport]] = defaultdict(dict)
    ends = (Action.STARTED, Action.FINISHED)
    for row in SentReport.objects.filter(company=company, action__in=ends, visit__in=visits):
        if row.action == Action.FINISHED:
            found[row.visit_id][Action.FINISHED] = row
        else:
            found[row.visit_id].setdefault(Action.STARTED, row)
    return found


def _extra_minutes(company: Company, visits: Iterable[Visit]) -> defaultdict[int, int]:
    minutes: defaultdict[int, int] = defaultdict(int)
    for row in ExtraWork.objects.filter(company=company, visit__in=visits):
        if row.visit_id is not None:
            minutes[row.visit_id] += row.person_minutes
    return minutes


def _beside(visit: Visit, reports: ByTask, taps: Taps, extra: int) -> ReportedVisit:
    tasks = visit.content["tasks"]
    said = [reports.get((task["key"], task["starts_at"]), {}) for task in tasks]
    lasts = [last_of_work(one) for one in said]
    kinds = [last.kind if last else "" for last in lasts]
    each = list(chain.from_iterable(one.values() for one in said))
    by_kind = list(zip(tasks, kinds, strict=True))
    set_up, wash_up = _around(visit)
    started_at = _work_began(each, taps, set_up)
    return ReportedVisit(
        visit=visit,
        people=tuple(row.person for row in visit.people.all() if row.cancelled_at is None),
        said_heads=taps[Action.FINISHED].said.get("people") if Action.FINISHED in taps else None,
        set_up=set_up,
        wash_up=wash_up,
        started_at=started_at,
        ended_at=_work_ended(each, taps, wash_up, started_at),
        done=tuple(task for task, kind in by_kind if kind == Kind.DONE),
        left=tuple(task for task, kind in by_kind if kind == Kind.NOT_DONE),
        partly=any(map(_is_partly_done, tasks, lasts)),
        silent=tuple(task for task, kind in by_kind if kind not in (Kind.DONE, Kind.NOT_DONE)),
        extra_minutes=extra,
    )


def _around(visit: Visit) -> tuple[timedelta, timedelta]:
    """Return how long set-up and wash-up take around a visit's work, as it is published."""
    tasks = visit.content["tasks"]
    begins = min((datetime.fromisoformat(t["starts_at"]) for t in tasks), default=visit.starts_at)
    ends = max((datetime.fromisoformat(t["ends_at"]) for t in tasks), default=visit.ends_at)
    return max(begins - visit.starts_at, timedelta()), max(visit.ends_at - ends, timedelta())


def _work_began(reports: Iterable[Report], taps: Taps, set_up: timedelta) -> datetime | None:
    at = min((row.at for row in reports if row.kind == Kind.STARTED), default=None)
    came = at is not None and Action.STARTED in taps and taps[Action.STARTED].at == at
    return at + set_up if at and came else at  # otherwise the office said it, of the work itself


def _work_ended(
    reports: Iterable[Report], taps: Taps, wash_up: timedelta, began: datetime | None
) -> datetime | None:
    ended = (Kind.DONE, Kind.NOT_DONE)
    at = max((row.at for row in reports if row.kind in ended), default=None)
    if at is None or Action.FINISHED not in taps:
        return at
    finished = taps[Action.FINISHED].at
    if began and finished - wash_up < began <= finished:
        return began  # nothing but set-up and wash-up
    return finished - wash_up


def _is_partly_done(task: TaskRow, last: Report | None) -> bool:
    if last is None or last.kind != Kind.NOT_DONE or last.minutes_left is None:
        return False
    start, end = (datetime.fromisoformat(task[name]) for name in ("starts_at", "ends_at"))
    return timedelta(minutes=last.minutes_left) < end - start


def _hours(crew: Crew, start: datetime, zone: ZoneInfo) -> list[Hours]:
    day = start.astimezone(zone).date()
    return [
        (local_instant(day, row.start, zone), local_instant(day, row.end, zone))
        for row in crew.hours.all()
        if row.weekday == day.weekday()
    ]
