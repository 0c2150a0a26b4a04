"""The visits of a company with their material: what crews were told and is over, then the plan."""

from datetime import date, datetime, time, timedelta
from itertools import chain
from zoneinfo import ZoneInfo

from finishing.models import Company, Crew, House
from finishing.queries.materials import Catalogue
from scheduling.models import Visit
from scheduling.queries.plans import working_plan
from scheduling.queries.visits import blocks_between
from scheduling.services.material_uses import MaterialVisit, VisitReader
from scheduling.services.past_visits import as_done, past_visits
from scheduling.services.van_loads import LOOKED_BACK, VanLoads, van_loads

_FAR = timedelta(days=3650)


def loads_to_come(reader: VisitReader, *, now: datetime) -> VanLoads:
    """Return the loads of the working plan from today on, in a fixed number of queries; those of
    the last weeks, as crews were told and as far as they are done, come first."""
    company = reader.company
    today = start_of_today(company, now)
    crews = list(Crew.objects.filter(company=company).select_related("company"))
    houses = list(House.objects.filter(company=company))
    plan = working_plan(company)
    blocks = (
        blocks_between(plan, today, now + _FAR, crews=crews, houses=houses)
        if plan is not None
        else []
    )
    planned = (reader.planned(block) for block in blocks if block.tasks[0].starts_at >= today)
    over = past_visits(reader, first=today - LOOKED_BACK, until=today, now=now)
    return van_loads(chain(over, planned), now=today)


def loads_of_crew(crew: Crew, catalogue: Catalogue, *, now: datetime) -> VanLoads:
    """Return the loads of all that a crew has been told of, after what it did in the last weeks."""
    today = datetime.combine(
        now.astimezone(ZoneInfo(crew.zone)).date(), time.min, ZoneInfo(crew.zone)
    )
    rows = Visit.objects.filter(company=crew.company_id, crew=crew, cancelled_at=None)
    rows = rows.filter(starts_at__gte=today - LOOKED_BACK)
    visits = list(rows.select_related("house", "crew__company").prefetch_related("people"))
    reader = VisitReader(crew.company, catalogue)
    behind = [visit for visit in visits if visit.starts_at < today]
    over = as_done(reader, behind, first=today - LOOKED_BACK, now=now)
    to_do = (reader.told(visit, crew) for visit in visits if visit.starts_at >= today)
    return van_loads(chain(over, to_do), now=today)


def start_of_today(company: Company, now: datetime) -> datetime:
    """Return when the company's day began."""
    return start_of(company, today_of(company, now))


def start_of(company: Company, day: date) -> datetime:
    """Return when a day begins for the company."""
    return datetime.combine(day, time.min, ZoneInfo(company.zone))


def today_of(company: Company, now: datetime) -> date:
    """Return the company's day."""
    return now.astimezone(ZoneInfo(company.zone)).date()


def to_come(loads: VanLoads, today: datetime) -> list[MaterialVisit]:
    """Return the visits from today on."""
    return [visit for visit in loads.visits if visit.starts_at >= today]
