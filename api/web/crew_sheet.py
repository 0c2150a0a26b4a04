"""A crew's week on paper: the visits that it has been told of, day by day, with all it needs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from uuid import UUID
from zoneinfo import ZoneInfo

from api.web.calendar import absence
from api.web.crew_material import CrewMaterial
from api.web.moments import hour_text, local
from api.web.scales import day_begins
from finishing.models import Company, Crew, DayOff, Holiday
from scheduling.measures import Measures
from scheduling.models import Publication, Visit
from scheduling.queries.plans import latest_publication
from scheduling.visit_wording import visit_description, visit_title
from scheduling.wording import moment

_A_DAY = timedelta(days=1)


@dataclass(frozen=True)
class SheetVisit:
    """A visit: its hours on the crew's clock, where it is, in parts what to do there, what to load
    into the van and what to mix."""

    hours: str
    title: str
    address: str
    parts: list[str]
    load: list[str]
    mixing: list[str]


@dataclass(frozen=True)
class SheetDay:
    """A day of the week; ``off`` says why nobody works."""

    day: date
    visits: list[SheetVisit]
    off: list[str]


@dataclass(frozen=True)
class CrewSheet:
    """All that the sheet shows; ``revision`` and ``published_at`` say of what it is."""

    crew: Crew
    days: list[SheetDay]
    revision: int | None
    published_at: str
    printed_at: str


def crew_sheet(company: Company, crew_id: UUID, day: date, *, now: datetime) -> CrewSheet:
    """Return the sheet of the week, Monday to Sunday, of a day, in a fixed number of queries.

    Raise ``Crew.DoesNotExist`` where the company has no such crew.
    """
    crew = Crew.objects.select_related("company").get(company=company, public_id=crew_id)
    zone = ZoneInfo(crew.zone)
    monday = day - timedelta(days=day.weekday())
    days = [monday + number * _A_DAY for number in range(7)]
    last = latest_publication(company)
    visits = _visits(crew, days, now)
    off = _off(company, crew, days)
    return CrewSheet(
        crew=crew,
        days=[SheetDay(day, visits.get(day, []), off.get(day, [])) for day in days],
        revision=last.revision if last else None,
        published_at=_published(last, zone),
        printed_at=moment(now, zone),
    )


def _published(last: Publication | None, zone: ZoneInfo) -> str:
    return moment(last.published_at, zone) if last else ""


def _visits(crew: Crew, days: Sequence[date], now: datetime) -> dict[date, list[SheetVisit]]:
    """Return by day the visits that start on it by the crew's clock."""
    zone = ZoneInfo(crew.zone)
    rows = Visit.objects.filter(
        company=crew.company_id,
        crew=crew,
        cancelled_at=None,
        starts_at__gte=day_begins(days[0], zone),
        starts_at__lt=day_begins(days[-1] + _A_DAY, zone),
    )
    if not rows:
        return {}
    material = CrewMaterial(crew, now)
    by_day = groupby(rows, key=lambda visit: local(visit.starts_at, crew.zone).date())
    return {day: [_visit(visit, crew, material) for visit in visits] for day, visits in by_day}


def _visit(visit: Visit, crew: Crew, material: CrewMaterial) -> SheetVisit:
    zone, measures = ZoneInfo(crew.zone), Measures(crew.reads_imperial)
    starts, ends = (hour_text(at.astimezone(zone)) for at in (visit.starts_at, visit.ends_at))
    return SheetVisit(
        hours=f"{starts} - {ends}",
        title=visit_title(visit.content),
        address=visit.content["house"]["address"],
        parts=visit_description(visit.content, zone, measures).split("\n\n"),
        load=material.load_of(visit),
        mixing=material.mixing_of(visit),
    )


def _off(company: Company, crew: Crew, days: Sequence[date]) -> dict[date, list[str]]:
    """Return by day the holidays and days off of a crew and its members."""
    found: dict[date, list[str]] = {day: [] for day in days}
    for holiday in Holiday.objects.filter(company=company, day__in=days):
        found[holiday.day].append(holiday.name)
    for off in DayOff.objects.filter(crew=crew, day__in=days).select_related("member"):
        found[off.day].append(absence(off))
    return found
