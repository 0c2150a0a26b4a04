"""The page of houses by weeks: who is in each house when, what dries, what is promised."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.formats import date_format

from api.web.calendar import CrewCalendar, company_calendar
from api.web.clock_changes import clock_changes
from api.web.converters import PAGE_YEARS
from api.web.crew_lanes import is_seen
from api.web.day_columns import DayColumns
from api.web.house_drawing import (
    LEFT,
    RIGHT,
    Ground,
    HouseWeeks,
    ground_markup,
    heads,
    house_drawing,
)
from api.web.house_rows import VisitMarks, crew_marks, house_weeks
from api.web.moments import Clock
from api.web.plan_filter import SPANS, PlanFilter, plan_filter
from api.web.shown_days import clock_words, idle_days, working_hours
from api.web.shown_pins import shown_pins
from api.web.standing import Standing, company_standing
from api.web.visits import house_tint
from api.web.weaves import weave_markup
from api.web.week_legend import Sample, houses_legend
from finishing.models import Closure, Company, Crew, House
from finishing.queries.houses import by_handover
from scheduling.models import Plan
from scheduling.queries.visits import Block, blocks_between
from scheduling.wording import day as day_words

A_DAY, A_WEEK = timedelta(days=1), timedelta(days=7)


@dataclass(frozen=True)
class HouseRow:
    """A house with its weeks as markup."""

    house: House
    tint: int
    chart: str


@dataclass(frozen=True)
class HouseWeeksPage:
    """All that the page shows. marks: the crews with what stands for each; hidden: how many
    houses have nothing in these weeks; drawings are markup."""

    standing: Standing
    filter: PlanFilter
    first: date
    last: date
    weaves: str
    grounds: str
    head: str
    rows: list[HouseRow]
    marks: list[tuple[str, str]]
    hidden: int
    notes: list[str]
    legend: list[Sample]

    @property
    def previous(self) -> date | None:
        return self._away(-self.filter.span * A_WEEK)

    @property
    def following(self) -> date | None:
        return self._away(self.filter.span * A_WEEK)

    def _away(self, by: timedelta) -> date | None:
        """Return the first day of other weeks, None beyond the years that pages have."""
        day = self.first + by
        return day if day.year in PAGE_YEARS else None


def house_weeks_page(
    company: Company, day: date, asked: Mapping[str, str], *, now: datetime
) -> HouseWeeksPage:
    """Return the weeks from the Monday before a day on, in a fixed number of queries.

    asked: what to show of them, as ``plan_filter`` reads it.
    """
    standing = company_standing(company)
    plan = standing.plan
    crews = list(Crew.objects.filter(company=company).select_related("company"))
    houses = by_handover(House.objects.filter(company=company))
    chosen = plan_filter(asked, crews, houses, plan)
    monday = day - timedelta(days=day.weekday())
    days = [monday + number * A_DAY for number in range(7 * chosen.span)]
    calendar = company_calendar(company, days)
    blocks = _blocks(plan, chosen, days) if plan else []
    grounds = _grounds(days, blocks, calendar, {company.zone, *(row.zone for row in houses)}, now)
    columns = grounds[company.zone].columns
    since = datetime.combine(monday, time(), UTC) - A_DAY
    marks = VisitMarks(crew_marks(crews), shown_pins(company, min(now, since), now))
    rows = _rows(plan, chosen, blocks, marks, grounds, closures=_closures(company, days))
    return HouseWeeksPage(
        standing=standing,
        filter=chosen,
        first=days[0],
        last=days[-1],
        weaves=weave_markup(),
        grounds=ground_markup(grounds.values()),
        head=heads(
            columns,
            [date_format(monday, "j M") for monday in days[::7]],
            [date_format(day, "D j" if chosen.span == SPANS[0] else "j") for day in days],
        ),
        rows=rows,
        marks=[(marks.crews[crew.pk], crew.name) for crew in crews],
        hidden=sum(map(chosen.keeps_house, houses)) - len(rows),
        notes=_notes(calendar, columns),
        legend=houses_legend(),
    )


def _blocks(plan: Plan, chosen: PlanFilter, days: Sequence[date]) -> list[Block]:
    """Return by time what is done or dries in and about some days, of what is shown."""
    first, last = (datetime.combine(day, time(), UTC) for day in (days[0], days[-1]))
    found = blocks_between(
        plan,
        first - A_DAY,
        last + 2 * A_DAY,
        crews=chosen.crews,
        houses=chosen.houses,
        with_details=False,
    )
    return [block for block in found if chosen.keeps(block)]


def _closures(company: Company, days: Sequence[date]) -> dict[int, list[Closure]]:
    """Return by house when others have which of its areas, in one query."""
    found: dict[int, list[Closure]] = defaultdict(list)
    rows = Closure.objects.filter(company=company, first_day__lte=days[-1], last_day__gte=days[0])
    for row in rows.select_related("area").order_by("first_day", "id"):
        found[row.area.house_id].append(row)
    return found


def _grounds(
    days: Sequence[date],
    blocks: Sequence[Block],
    calendar: CrewCalendar,
    zones: Iterable[str],
    now: datetime,
) -> dict[str, Ground]:
    """Return by zone the same columns with what lies under them."""
    hours = working_hours(blocks, calendar)
    idle = idle_days(days, blocks, calendar)
    return {
        zone: _ground(
            f"ground-{number}",
            DayColumns(days, ZoneInfo(zone), left=LEFT, right=RIGHT, hours=hours, idle=idle),
            now,
        )
        for number, zone in enumerate(sorted(zones))
    }


def _ground(name: str, columns: DayColumns, now: datetime) -> Ground:
    today = now.astimezone(columns.zone).date()
    return Ground(
        name=name,
        columns=columns,
        off=[number for number in range(len(columns.days)) if columns.is_idle(number)],
        today=columns.days.index(today) if today in columns.days else None,
        changes=list(clock_changes(columns.first, columns.last, columns.zone)),
        now=now,
    )


def _rows(
    plan: Plan | None,
    chosen: PlanFilter,
    blocks: Sequence[Block],
    marks: VisitMarks,
    grounds: Mapping[str, Ground],
    *,
    closures: Mapping[int, list[Closure]],
) -> list[HouseRow]:
    """Return the houses of which there is something to see in these weeks, and the one that was
    asked for whatever there is."""
    by_house: dict[int, list[Block]] = defaultdict(list)
    for block in blocks:
        by_house[block.house.pk].append(block)
    clocks = {zone: Clock(ground.columns.zone) for zone, ground in grounds.items()}
    rows = []
    for house in filter(chosen.keeps_house, chosen.houses):
        ground = grounds[house.zone]
        seen = [block for block in by_house[house.pk] if is_seen(block, ground.columns)]
        weeks = house_weeks(
            house,
            plan,
            seen,
            closures=closures.get(house.pk, []),
            marks=marks,
            clock=clocks[house.zone],
            columns=ground.columns,
        )
        if house == chosen.house or seen or _is_promised(weeks, ground, chosen):
            rows.append(HouseRow(house, house_tint(house), house_drawing(weeks, ground)))
    return rows


def _is_promised(weeks: HouseWeeks, ground: Ground, chosen: PlanFilter) -> bool:
    """Return whether a handover lies in the weeks; it is nobody's where one crew is asked for."""
    if chosen.crew:
        return False
    marks = [at for row in weeks.promises for at in (row.due, row.met) if at]
    return any(ground.columns.first < at <= ground.columns.last for at in marks)


def _notes(calendar: CrewCalendar, columns: DayColumns) -> list[str]:
    """Say which days of the weeks are out of the ordinary: holidays, days off, the clocks."""
    holidays = [f"{day_words(day)}: {name}" for day, name in sorted(calendar.holidays.items())]
    off = [
        f"{day_words(day)}: {crew.name}, {absence}"
        for day in columns.days
        for crew in calendar.crews
        for absence in calendar.absences(crew, day)
    ]
    changes = [
        f"{day_words(change.at.astimezone(columns.zone).date())}: {clock_words(change)}"
        for change in clock_changes(columns.first, columns.last, columns.zone)
    ]
    return [*holidays, *off, *changes]
