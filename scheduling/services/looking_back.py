"""What became of a company's weeks: days lost in each house and why, travel, coats found wet.

Figures are counted from published visits and what crews said of them. A past visit without a
report counts as done as planned, as everywhere. All of it is per house and month of the crew's
calendar.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property
from itertools import groupby, pairwise
from zoneinfo import ZoneInfo

from finishing.models import Closure, Company, Holiday, House
from finishing.rules.lost_days import Cause, Held, lost_days
from finishing.rules.predicted_waits import CoatLook, MarginClass, by_margin
from scheduling.models import Obstacle, Report
from scheduling.services.reported_visits import ReportedVisit, reported_visits
from scheduling.services.travel import way_minutes
from scheduling.services.visit_reports import RECHECK

HALF_DAY = time(12)
"""A coat that is ready later than that has cost the day."""
BY_OTHERS = frozenset(
    {Obstacle.Reason.NO_WAY_IN, Obstacle.Reason.NOT_READY, Obstacle.Reason.DAMAGE}
)


@dataclass
class HouseMonth:
    """A house in a month. worked: days with work done; lost: days by cause; travel_minutes: of
    crews' ways to it from the house before on the same day, as planned; looks: at coats to go
    over, wet: those found not dry."""

    house: House
    month: date
    worked: int = 0
    lost: dict[Cause, int] = field(default_factory=lambda: dict.fromkeys(Cause, 0))
    travel_minutes: int = 0
    looks: int = 0
    wet: int = 0


@dataclass(frozen=True)
class LookedBack:
    """months: house by house, the earliest first. waits: all looks at coats by how long after the
    predicted hour."""

    months: Sequence[HouseMonth]
    waits: Sequence[MarginClass]


@dataclass(frozen=True)
class Look:
    """A crew's look at a coat, in which house, when."""

    house: str
    at: datetime
    coat: CoatLook


def first_of_months(company: Company, months: int, now: datetime) -> date:
    """Return the first day of so many months, of which the present one is the last."""
    today = now.astimezone(ZoneInfo(company.zone)).date()
    number = today.year * 12 + today.month - months  # months before this count from 0
    return date(number // 12, number % 12 + 1, 1)


def look_back(
    *, company: Company, first: date, now: datetime, house: House | None = None
) -> LookedBack:
    """Return what became of the time from a day on until now, in a fixed number of queries.

    house: of this one alone.
    """
    zone = ZoneInfo(company.zone)
    begin = datetime.combine(first, time.min, zone)
    visits = reported_visits(company, begin, now)
    past = _Past(company, visits, begin, now)
    rows: dict[tuple[int, date], HouseMonth] = {}
    houses = {one.visit.house_id: one.visit.house for one in visits}

    def of(found: House, day: date) -> HouseMonth:
        month = day.replace(day=1)
        return rows.setdefault((found.pk, month), HouseMonth(found, month))

    for found in houses.values():
        for day in past.worked(found):
            of(found, day).worked += 1
        for day, cause in past.lost(found).items():
            of(found, day).lost[cause] += 1
    for found, day, minutes in past.ways():
        of(found, day).travel_minutes += minutes
    by_id = {str(found.public_id): found for found in houses.values()}
    looks = [look for look in past.looks() if look.house in by_id]
    for look in looks:
        row = of(by_id[look.house], look.at.astimezone(zone).date())
        row.looks += 1
        row.wet += look.coat.wet
    mine = [row for row in rows.values() if house is None or row.house.pk == house.pk]
    of_mine = [k.coat for k in looks if house is None or k.house == str(house.public_id)]
    ordered = sorted(mine, key=lambda row: (row.house.name, row.house.pk, row.month))
    return LookedBack(ordered, by_margin(of_mine))


class _Past:
    """Visits that were to be, with what was said of them and of their houses."""

    def __init__(
        self, company: Company, visits: Sequence[ReportedVisit], begin: datetime, now: datetime
    ) -> None:
        self._company, self._begin, self._now = company, begin, now
        self._visits = visits
        self._of_house: defaultdict[int, list[ReportedVisit]] = defaultdict(list)
        for one in visits:
            self._of_house[one.visit.house_id].append(one)

    def worked(self, house: House) -> set[date]:
        """Return the days on which work was done in a house."""
        visits = self._of_house[house.pk]
        return {_day(one) for one in visits if one.done or one.silent or one.partly}

    def lost(self, house: House) -> Mapping[date, Cause]:
        worked = self.worked(house)
        held = [*self._drying(house), *self._by_others(house, worked)]
        return lost_days(worked=worked, working=self._working, held=held)

    def ways(self) -> Iterator[tuple[House, date, int]]:
        """Yield the ways of crews from house to house: where to, on which day, minutes."""
        ordered = sorted(self._visits, key=lambda one: (one.visit.crew_id, one.visit.starts_at))
        for (_, day), stops in groupby(ordered, key=lambda one: (one.visit.crew_id, _day(one))):
            for one, two in pairwise(one.visit.house for one in stops):
                if one.pk != two.pk:
                    minutes = way_minutes(one, two, self._company.travel_minutes)
                    yield two, day, round(minutes)

    def looks(self) -> Iterator[Look]:
        """Yield the looks at coats of which it is known when they were to be ready."""
        for report in self._found_wet:
            if ready_at := report.about.get("ready_at"):
                yield _look(report.about["house"], report.at, ready_at, wet=True)
        for one in self._visits:
            house = str(one.visit.house.public_id)
            at = one.started_at or one.visit.starts_at
            for task in one.done:
                on = task["waits_on"]
                if on and on["reason"] != RECHECK:
                    yield _look(house, at, on["ready_at"], wet=False)

    def _drying(self, house: House) -> Iterator[Held]:
        """Yield days on which a house's next visit waited for coats, all of its work."""
        visits = self._of_house[house.pk]
        for before, after in pairwise(visits):
            tasks = after.visit.content["tasks"]
            waits = [on["ready_at"] if (on := task["waits_on"]) else "" for task in tasks]
            if waits and all(waits):
                ready = datetime.fromisoformat(min(waits)).astimezone(_zone(after))
                late = timedelta(days=0 if ready.time() > HALF_DAY else 1)
                yield Held(Cause.DRYING, _day(before), ready.date() - late)
        for report in self._found_wet:
            if report.about.get("house") == str(house.public_id):
                day = report.at.astimezone(ZoneInfo(report.crew.zone)).date()
                yield Held(Cause.DRYING, day, day)

    def _by_others(self, house: House, worked: set[date]) -> Iterator[Held]:
        """Yield days on which others kept crews out: what crews met until it was settled or they
        worked there again, and areas closed in which all of its next visit's work lies."""
        for row in self._obstacles:
            if row.house_id == house.pk:
                zone = ZoneInfo(row.crew.zone)
                begun = row.at.astimezone(zone).date()
                ended = (row.settled_at or self._now).astimezone(zone).date()
                again = min((day for day in worked if day > begun), default=ended)
                yield Held(Cause.OTHERS, begun, min(ended, again))
        for before, after in pairwise(self._of_house[house.pk]):
            areas = {task.get("area", "") for task in after.visit.content["tasks"]}
            for day in _days([_day(before), _day(after)]):
                if areas and areas <= self._closed_areas(house, day):
                    yield Held(Cause.OTHERS, day, day)

    def _closed_areas(self, house: House, day: date) -> set[str]:
        """Return the areas of a house, by the names that visits have, that are closed on a day."""
        rows = (row for row in self._closures if row.area.house_id == house.pk)
        return {row.area.name for row in rows if row.first_day <= day <= row.last_day}

    @cached_property
    def _found_wet(self) -> list[Report]:
        rows = Report.objects.filter(
            company=self._company, kind=Report.Kind.NOT_DRY, at__gte=self._begin, at__lt=self._now
        )
        return list(rows.select_related("crew"))

    @cached_property
    def _obstacles(self) -> list[Obstacle]:
        rows = Obstacle.objects.filter(
            company=self._company, reason__in=BY_OTHERS, at__gte=self._begin, at__lt=self._now
        )
        return list(rows.select_related("crew"))

    @cached_property
    def _closures(self) -> list[Closure]:
        rows = Closure.objects.filter(company=self._company, last_day__gte=self._begin.date())
        return list(rows.select_related("area"))

    @cached_property
    def _working(self) -> frozenset[date]:
        """The days on which any of the crews works by its week, holidays left out."""
        weekdays = {row.weekday for one in self._visits for row in one.visit.crew.hours.all()}
        holidays = set(Holiday.objects.filter(company=self._company).values_list("day", flat=True))
        days = _days(map(_day, self._visits))
        return frozenset(d for d in days if d.weekday() in weekdays and d not in holidays)


def _look(house: str, at: datetime, ready_at: str, *, wet: bool) -> Look:
    margin = at - datetime.fromisoformat(ready_at)
    return Look(house, at, CoatLook(margin / timedelta(hours=1), wet))


def _zone(one: ReportedVisit) -> ZoneInfo:
    return ZoneInfo(one.visit.crew.zone)


def _day(one: ReportedVisit) -> date:
    return one.visit.starts_at.astimezone(_zone(one)).date()


def _days(found: Iterable[date]) -> Iterator[date]:
    """Yield all days from the first to the last of some."""
    known = sorted(found)
    for number in range((known[-1] - known[0]).days + 1 if known else 0):
        yield known[0] + timedelta(days=number)
