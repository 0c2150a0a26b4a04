"""Visits that are behind with what they have used: all of it where their work counts as done, of
work that was left its share that was done."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from finishing.models import Company
from finishing.queries.materials import Item
from scheduling.models import Report, Visit
from scheduling.queries.reports import Said
from scheduling.services.material_uses import Codes, MaterialVisit, VisitReader
from scheduling.services.reported import last_of_work, looks_of, was_kept_off

Kind = Report.Kind


def past_visits(
    reader: VisitReader, *, first: datetime, until: datetime, now: datetime
) -> list[MaterialVisit]:
    """Return the visits that began from ``first`` on and before ``until``, the earliest first, by
    what is known of them at ``now``; in three queries."""
    rows = Visit.objects.filter(
        company=reader.company, cancelled_at=None, starts_at__gte=first, starts_at__lt=until
    )
    rows = rows.select_related("house", "crew__company").prefetch_related("people")
    return as_done(reader, list(rows.order_by("starts_at", "pk")), first=first, now=now)


def as_done(
    reader: VisitReader, visits: Sequence[Visit], *, first: datetime, now: datetime
) -> list[MaterialVisit]:
    """Return visits, none of which began before ``first``, as past ones; in one query, and in none
    where there are none."""
    done = _DoneShares(reader.company, first, now) if visits else None
    return [_as_done(reader, visit, done) for visit in visits if done]


def _as_done(reader: VisitReader, visit: Visit, done: "_DoneShares") -> MaterialVisit:
    amounts: defaultdict[Item, float] = defaultdict(float)
    for task in visit.content["tasks"]:
        if share := done.of(task):
            for item, amount in reader.amounts([task]).items():
                amounts[item] += share * amount
    return replace(reader.told(visit, visit.crew), amounts=dict(amounts))


class _DoneShares:
    """Tells which share of a published task was done. Reports count for the task where it was
    published when they were made: one that was left undone and given again keeps its key."""

    def __init__(self, company: Company, first: datetime, now: datetime) -> None:
        self._now = now
        self._said: defaultdict[tuple[str, str], dict[str, Report]] = defaultdict(dict)
        wet: dict[str, Said] = {}
        for report in Report.objects.filter(company=company, at__gte=first, at__lte=now):
            if report.kind == Kind.NOT_DRY:
                wet[report.key] = {report.kind: report}
            else:
                self._said[report.key, report.about.get("starts_at", "")][report.kind] = report
        self._looks = looks_of(wet, timedelta(hours=company.recheck_hours))

    def of(self, task: Codes) -> float:
        """Return the share, from 0 to 1; 1 of what is over and that nobody has reported."""
        last = last_of_work(self._said.get((task["key"], task["starts_at"]), {}))
        starts_at, ends_at = (datetime.fromisoformat(task[end]) for end in ("starts_at", "ends_at"))
        if last and last.kind == Kind.DONE:
            return 1.0
        if last and last.kind == Kind.NOT_DONE:
            return _share_done(last, ends_at - starts_at)
        if was_kept_off(task["key"], starts_at, last, looks=self._looks, now=self._now):
            return 0.0
        return 1.0 if ends_at <= self._now else 0.0


def _share_done(report: Report, planned: timedelta) -> float:
    """Return what was done of a task that was left: nothing, where its crew did not say."""
    if report.minutes_left is None or not planned:
        return 0.0
    return max(0.0, 1 - timedelta(minutes=report.minutes_left) / planned)
