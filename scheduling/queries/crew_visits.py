"""What crews have been told: the visits of a crew's days, and all of its houses'."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db.models import QuerySet

from finishing.models import Company, Crew, House
from scheduling.models import SentReport, Visit


def visits_of_crew(crew: Crew, since: datetime) -> QuerySet[Visit]:
    """Return a crew's published visits that end after a moment, with their houses."""
    rows = Visit.objects.filter(
        company=crew.company_id, crew=crew, cancelled_at=None, ends_at__gt=since
    )
    return rows.select_related("house")


def visits_to_come(company: Company, now: datetime) -> QuerySet[Visit]:
    """Return all published visits of a company that are not over, with their crews and houses."""
    rows = Visit.objects.filter(company=company, cancelled_at=None, ends_at__gt=now)
    return rows.select_related("crew", "house")


def visits_at(company: Company, houses: Iterable[House], since: datetime) -> QuerySet[Visit]:
    """Return all crews' published visits at these houses that end after a moment."""
    return Visit.objects.filter(
        company=company, house__in=list(houses), cancelled_at=None, ends_at__gt=since
    )


def said_of_visits(visits: Iterable[Visit]) -> Mapping[int, list[SentReport]]:
    """Return what crews have sent of visits, by visit (primary key), as it happened."""
    said: defaultdict[int, list[SentReport]] = defaultdict(list)
    for report in SentReport.objects.filter(visit__in=list(visits)):
        said[report.visit_id].append(report)
    return said
