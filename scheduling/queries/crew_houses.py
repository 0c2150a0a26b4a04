"""The houses that a crew is at."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from finishing.models import Crew, House
from finishing.queries.houses import by_name
from scheduling.models import Visit

TWO_DAYS = timedelta(days=2)


def houses_of_crew(crew: Crew, now: datetime) -> list[House]:
    """Return the houses of the crew's published visits today and tomorrow by its own clock, in the
    order of the visits; where there are none, all that its company has work in, by name."""
    today = now.astimezone(ZoneInfo(crew.zone)).date()
    starts, ends = (
        datetime.combine(day, time.min, ZoneInfo(crew.zone)) for day in (today, today + TWO_DAYS)
    )
    visits = Visit.objects.filter(
        company=crew.company_id,
        crew=crew,
        cancelled_at=None,
        starts_at__lt=ends,
        ends_at__gt=starts,
    )
    visited = dict.fromkeys(visit.house for visit in visits.select_related("house"))
    active = House.objects.filter(company=crew.company_id, is_active=True)
    return list(visited) or by_name(active)
