"""What a crew's page for a phone shows: its published visits, day by day."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.crew_forms import TapForm
from api.web.crew_material import CrewMaterial
from api.web.crew_news import CrewNews, crew_news
from api.web.crew_said import said_line
from api.web.crew_visit import CrewVisit, crew_visit
from finishing.models import Crew
from scheduling.models import SentReport, Visit
from scheduling.queries.crew_visits import said_of_visits, visits_at, visits_of_crew
from scheduling.wording import day as day_text

ONE_DAY = timedelta(days=1)
LOOKED_BACK = timedelta(days=30)
"""No coat is wet for longer."""


@dataclass(frozen=True)
class CrewDay:
    """A day with its visits. name: "Today", "Tomorrow" or the day itself."""

    name: str
    day: date
    visits: Sequence[CrewVisit]


@dataclass(frozen=True)
class DayLink:
    """Another day with published visits."""

    day: date
    text: str


@dataclass(frozen=True)
class CrewPage:
    """All that the page shows. asked: the day asked for, None for today and tomorrow. loaded: when,
    by the crew's clock. noted: what has just been noted. faults: why the form sent last was not.
    news: what was published last, on the page of today and tomorrow."""

    crew: Crew
    asked: date | None
    days: Sequence[CrewDay]
    other_days: Sequence[DayLink]
    loaded: str
    noted: str
    faults: Sequence[str]
    news: CrewNews | None


def crew_page(
    crew: Crew,
    asked: date | None,
    now: datetime,
    *,
    sent: tuple[UUID, TapForm] | None = None,
    noted: str = "",
) -> CrewPage:
    """Return the page in a fixed number of queries. sent: the visit and form that did not go
    through."""
    zone = ZoneInfo(crew.zone)
    today = now.astimezone(zone).date()
    shown = (today, today + ONE_DAY) if asked is None else (asked,)
    first = datetime.combine(min(today - ONE_DAY, *shown), time.min, zone)
    by_day = _by_day(crew, first, zone)
    visits = [visit for day in shown for visit in by_day.get(day, ())]
    at_houses, said = _at_houses(crew, visits, first), said_of_visits(visits)
    material = CrewMaterial(crew, now) if visits else None

    def read(visit: Visit, day: date) -> CrewVisit:
        return crew_visit(
            crew,
            visit,
            at_houses[visit.house_id],
            said.get(visit.pk, ()),
            sent=sent[1] if sent and sent[0] == visit.public_id else None,
            may_report=day <= today + ONE_DAY,
            material=material,
        )

    return CrewPage(
        crew=crew,
        asked=asked,
        days=[
            CrewDay(_day_name(day, today), day, [read(visit, day) for visit in by_day.get(day, ())])
            for day in shown
        ],
        other_days=[DayLink(day, day_text(day)) for day in by_day if day not in shown],
        loaded=f"{day_text(today)} {now.astimezone(zone):%H:%M}",
        noted=_noted(crew, noted),
        faults=sent[1].faults() if sent else (),
        news=crew_news(crew) if asked is None else None,
    )


def _by_day(crew: Crew, first: datetime, zone: ZoneInfo) -> dict[date, list[Visit]]:
    """Return the crew's visits from a moment on by its own day, in order."""
    by_day: defaultdict[date, list[Visit]] = defaultdict(list)
    for visit in visits_of_crew(crew, first):
        by_day[visit.starts_at.astimezone(zone).date()].append(visit)
    return by_day


def _at_houses(crew: Crew, visits: Sequence[Visit], first: datetime) -> dict[int, list[Visit]]:
    """Return all crews' visits at the houses of these visits, by house."""
    houses = {visit.house_id: visit.house for visit in visits}
    found: defaultdict[int, list[Visit]] = defaultdict(list)
    for visit in visits_at(crew.company, houses.values(), first - LOOKED_BACK):
        found[visit.house_id].append(visit)
    return found


def _day_name(day: date, today: date) -> str:
    names = {today: _("Today"), today + ONE_DAY: _("Tomorrow")}
    return names.get(day, day_text(day))


def _noted(crew: Crew, sent_as: str) -> str:
    """Say what a form of the crew's noted; "" where there is no such form."""
    try:
        known = SentReport.objects.filter(company=crew.company, crew=crew, sent_as=UUID(sent_as))
    except ValueError:
        return ""
    report = known.select_related("visit__house").first()
    if report is None:
        return ""
    said = said_line(report, report.visit, ZoneInfo(crew.zone))
    return _("Noted: %(house)s, %(said)s.") % {"house": report.visit.house.name, "said": said}
