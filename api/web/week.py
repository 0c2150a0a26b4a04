"""The week page: crews by days, for one week of the working plan, drawn and as a table."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from api.web.calendar import CrewCalendar, company_calendar
from api.web.clock_changes import clock_changes
from api.web.converters import PAGE_YEARS
from api.web.crew_lanes import Marks
from api.web.crew_picture import DrawnWeek, WeekPicture, week_picture
from api.web.plan_filter import PlanFilter, plan_filter
from api.web.scales import day_begins
from api.web.shown_days import clock_words
from api.web.shown_pins import shown_pins
from api.web.standing import Standing, company_standing, warnings
from api.web.visits import VisitCard, visit_card
from finishing.models import Company, Crew, House
from finishing.queries.houses import by_name
from scheduling.jobs import answer_for_page
from scheduling.models import Plan, Visit
from scheduling.queries.planned_visits import visit_id
from scheduling.queries.visits import Block, blocks_between
from scheduling.services.kept_answers import NotYetError
from scheduling.services.material_orders import LateVisit, late_visits

WEEK = timedelta(days=7)
ZONES_REACH = timedelta(days=1)
"""Local days start at most so long before or after the UTC day of the same date."""


@dataclass(frozen=True)
class Day:
    """A column of the week."""

    day: date
    is_today: bool
    holiday: str
    clocks: str
    is_empty: bool


@dataclass(frozen=True)
class Cell:
    """What one crew does on one day."""

    day: date
    visits: tuple[VisitCard, ...]
    absences: tuple[str, ...]
    works: bool


@dataclass(frozen=True)
class CrewRow:
    """A crew's week. ``zone`` is named only where it differs from the company's."""

    name: str
    public_id: UUID
    zone: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class WeekPage:
    """All that the page shows. material_to_come: whether it is being worked out which visits come
    before their material, so that none is marked."""

    standing: Standing
    material_to_come: bool
    days: tuple[Day, ...]
    rows: tuple[CrewRow, ...]
    warnings: list[str]
    picture: WeekPicture
    filter: PlanFilter

    @property
    def previous(self) -> date | None:
        return self._weeks_away(-1)

    @property
    def following(self) -> date | None:
        return self._weeks_away(1)

    def _weeks_away(self, number: int) -> date | None:
        """Return the Monday of another week, None beyond the years that pages have."""
        monday = self.days[0].day + number * WEEK
        return monday if monday.year in PAGE_YEARS else None


def week_page(company: Company, day: date, asked: Mapping[str, str], *, now: datetime) -> WeekPage:
    """Return the week, Monday to Sunday, that a day is in, in a fixed number of queries.

    asked: what to show of it, as ``plan_filter`` reads it.
    """
    monday = day - timedelta(days=day.weekday())
    dates = [monday + timedelta(days=number) for number in range(7)]
    standing = company_standing(company)
    plan = standing.plan
    calendar = company_calendar(company, dates)
    houses = by_name(House.objects.filter(company=company))
    chosen = plan_filter(asked, calendar.crews, houses, plan)
    calendar = calendar.of(chosen.keeps_crew)
    published = None if standing.differs else _published_keys(company, monday)
    blocks = _blocks(plan, monday, chosen) if plan else []
    held = {block for block in blocks if _is_held_back(block, published)}
    start = datetime.combine(monday, time(), UTC) - ZONES_REACH
    late = _late_material(company, now)
    marks = Marks(held, shown_pins(company, min(now, start), now), now, late or {})
    visits = _visits_by_crew_and_day(blocks, marks)
    rows = tuple(_crew_row(company, crew, dates, calendar, visits) for crew in calendar.crews)
    zone = ZoneInfo(company.zone)
    today = now.astimezone(zone).date()
    cells = zip(*(row.cells for row in rows), strict=True) if rows else ((),) * len(dates)
    return WeekPage(
        standing=standing,
        material_to_come=late is None,
        days=tuple(
            _day(day, of_day, calendar, zone, today)
            for day, of_day in zip(dates, cells, strict=True)
        ),
        rows=rows,
        warnings=warnings(plan, filter(chosen.keeps_house, houses)),
        picture=week_picture(DrawnWeek(company, plan, dates, blocks, marks, calendar)),
        filter=chosen,
    )


def _late_material(company: Company, now: datetime) -> Mapping[str, LateVisit] | None:
    try:
        return answer_for_page(late_visits, company=company, now=now)
    except NotYetError:
        return None


def _blocks(plan: Plan, monday: date, chosen: PlanFilter) -> list[Block]:
    """Return by time what is done or dries in and about a week at the houses that are shown."""
    start = datetime.combine(monday, time(), UTC)
    found = blocks_between(
        plan,
        start - ZONES_REACH,
        start + WEEK + ZONES_REACH,
        crews=chosen.crews,
        houses=chosen.houses,
    )
    return [block for block in found if chosen.keeps_house(block.house)]


def _visits_by_crew_and_day(
    blocks: Iterable[Block], marks: Marks
) -> Mapping[tuple[int, date], list[VisitCard]]:
    found: dict[tuple[int, date], list[VisitCard]] = defaultdict(list)
    for block in blocks:
        card = visit_card(
            block,
            held_back=block in marks.held,
            pinned=marks.pins.said(block),
            can_move=block.starts_at > marks.now,
            late=marks.late.get(str(visit_id(block))),
        )
        found[block.crew.pk, card.starts_at.date()].append(card)
    return found


def _published_keys(company: Company, monday: date) -> frozenset[str]:
    """Return the keys of the tasks that crews see in and about a week."""
    start = datetime.combine(monday, time(), UTC)
    visits = Visit.objects.filter(
        company=company,
        cancelled_at=None,
        starts_at__gte=start - ZONES_REACH,
        starts_at__lt=start + WEEK + ZONES_REACH,
    )
    return frozenset(
        key for minutes in visits.values_list("task_minutes", flat=True) for key in minutes
    )


def _is_held_back(block: Block, published: frozenset[str] | None) -> bool:
    """Return whether the plan is published (its keys are given) and nothing of the block is."""
    return published is not None and published.isdisjoint(task.key for task in block.tasks)


def _crew_row(
    company: Company,
    crew: Crew,
    dates: Iterable[date],
    calendar: CrewCalendar,
    visits: Mapping[tuple[int, date], list[VisitCard]],
) -> CrewRow:
    cells = tuple(
        Cell(
            day=day,
            visits=tuple(visits.get((crew.pk, day), [])),
            absences=calendar.absences(crew, day),
            works=calendar.works(crew, day),
        )
        for day in dates
    )
    zone = crew.zone if crew.zone != company.zone else ""
    return CrewRow(crew.name, crew.public_id, zone, cells)


def _day(
    day: date, cells: Iterable[Cell], calendar: CrewCalendar, zone: ZoneInfo, today: date
) -> Day:
    return Day(
        day=day,
        is_today=day == today,
        holiday=calendar.holidays.get(day, ""),
        clocks=_clocks(day, zone),
        is_empty=not any(cell.visits or cell.absences for cell in cells),
    )


def _clocks(day: date, zone: ZoneInfo) -> str:
    """Say what the company's clocks do on a day; "" where they go on."""
    first, last = (day_begins(day + n * timedelta(days=1), zone) for n in (0, 1))
    return " ".join(clock_words(change) for change in clock_changes(first, last, zone))
