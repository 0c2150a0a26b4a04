"""What a crew is paid for a period, from what it reported; what it did not report is listed."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from django.db.models import Q

from finishing.models import Company, Crew
from finishing.queries.pay import PayTerms
from finishing.rules.pay import PaidTask, PaidVisit, PayLine, Unpaid, visit_pay
from scheduling.models import ExtraWork
from scheduling.services.reported_visits import ReportedVisit, TaskRow, reported_visits


class Remark(StrEnum):
    """Why a visit, or some of it, is not paid, or not as planned."""

    SILENT = "silent"
    """Nobody has reported some of its work."""
    NO_END = "no_end"
    """It was not reported finished on its own day."""
    NO_WORK = "no_work"
    """It was reported finished before its work began, the set-up over."""
    HEADS = "heads"
    """As many others were there as the crew said: by the crew's rate, since nobody knows who."""
    NO_RATE = Unpaid.NO_RATE
    AREA_UNKNOWN = Unpaid.AREA_UNKNOWN


@dataclass(frozen=True)
class SheetVisit:
    """A visit of the sheet. minutes: that its people were at it, set-up and wash-up as published
    included. start_said: whether its start was reported; otherwise it is the published one."""

    reported: ReportedVisit
    day: date
    start: datetime
    minutes: int | None
    start_said: bool
    lines: tuple[PayLine, ...]
    remarks: tuple[Remark, ...]

    @property
    def total(self) -> int:
        return sum(line.amount for line in self.lines)


@dataclass(frozen=True)
class PaySheet:
    """A crew's visits of a period (days of its own clock, both included).

    without_visit: extra work that was noted at visits that are gone or called off: listed and not
    paid, since nobody knows who was there.
    """

    crew: Crew
    first: date
    last: date
    visits: Sequence[SheetVisit]
    without_visit: Sequence[ExtraWork]

    @property
    def by_payee(self) -> Mapping[str, int]:
        """What each payee has: sums of what their visits were rounded to."""
        sums: defaultdict[str, int] = defaultdict(int)
        for visit in self.visits:
            for line in visit.lines:
                sums[line.payee] += line.amount
        return dict(sorted(sums.items()))

    @property
    def total(self) -> int:
        return sum(visit.total for visit in self.visits)


def pay_sheet(*, company: Company, crew: Crew, first: date, last: date, now: datetime) -> PaySheet:
    """Return what a crew is paid for its visits of a period that have begun, in a fixed number of
    queries."""
    zone = ZoneInfo(crew.zone)
    begin = datetime.combine(first, time.min, zone)
    end = min(datetime.combine(last + timedelta(days=1), time.min, zone), now)
    terms = PayTerms(company)
    visits = [
        _sheet_visit(one, terms, zone)
        for one in reported_visits(company, begin, end, crew=crew)
        if one.visit.content["tasks"]
    ]
    gone = Q(visit=None) | Q(visit__cancelled_at__isnull=False)
    noted = ExtraWork.objects.filter(gone, company=company, crew=crew, at__gte=begin, at__lt=end)
    without_visit = list(noted.select_related("house").order_by("at", "pk"))
    return PaySheet(crew, first, last, visits, without_visit)


def _sheet_visit(one: ReportedVisit, terms: PayTerms, zone: ZoneInfo) -> SheetVisit:
    start, start_said = _start(one)
    day = start.astimezone(zone).date()
    at_work = one.minutes_from(start)
    around = (one.set_up + one.wash_up) // timedelta(minutes=1)
    minutes = None if at_work is None else at_work + around
    reasons = list(_reasons(one, start, minutes))
    lines: tuple[PayLine, ...] = ()
    if minutes is not None:
        paid = visit_pay(_paid_visit(one, minutes), terms.on(day, one.visit.crew))
        lines = paid.lines
        reasons += sorted(Remark(reason) for reason in paid.unpaid)
    return SheetVisit(one, day, start, minutes, start_said, lines, tuple(reasons))


def _start(one: ReportedVisit) -> tuple[datetime, bool]:
    if one.started_at is not None:
        return one.started_at, True
    return min(datetime.fromisoformat(t["starts_at"]) for t in one.visit.content["tasks"]), False


def _reasons(one: ReportedVisit, start: datetime, minutes: int | None) -> Iterator[Remark]:
    if one.silent:
        yield Remark.SILENT
    if minutes is None and (one.done or one.left):
        before = one.ended_at is not None and one.ended_at < start
        yield Remark.NO_WORK if before else Remark.NO_END
    if one.heads != len(one.people):
        yield Remark.HEADS


def _paid_visit(one: ReportedVisit, minutes: int) -> PaidVisit:
    return PaidVisit(
        people=_people(one),
        minutes=minutes,
        tasks=[_paid_task(task) for task in one.done],
        left_minutes=sum(int(task["person_minutes"]) for task in one.left),
        extra_minutes=one.extra_minutes,
    )


def _paid_task(task: TaskRow) -> PaidTask:
    stage = "" if task["job"] else str(task["stage"])
    return PaidTask(stage, int(task["person_minutes"]), task.get("area_m2"))


def _people(one: ReportedVisit) -> tuple[str, ...]:
    """Return who was there by name; by number where it was not those who were to be."""
    if one.heads == len(one.people):
        return one.people
    return tuple(f"#{number}" for number in range(1, one.heads + 1))
