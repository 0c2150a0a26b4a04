"""What crews have said that somebody in the office has to settle."""

from uuid import UUID

from django.db.models import QuerySet

from finishing.models import Company, House
from scheduling.models import ExtraWork, Obstacle

KINDS: dict[str, type[Obstacle] | type[ExtraWork]] = {
    "obstacle": Obstacle,
    "extra_work": ExtraWork,
}


def open_obstacles(company: Company, house: House | None = None) -> QuerySet[Obstacle]:
    """Return what keeps crews from their work and is not settled yet, the oldest first."""
    rows = Obstacle.objects.filter(company=company, settled_at=None)
    return (rows.filter(house=house) if house else rows).select_related("crew", "house")


def open_extra_work(company: Company, house: House | None = None) -> QuerySet[ExtraWork]:
    """Return extra work that the office has not looked at yet, the oldest first."""
    rows = ExtraWork.objects.filter(company=company, settled_at=None)
    return (rows.filter(house=house) if house else rows).select_related("crew", "house")


def said_by_crew(company: Company, kind: str, public_id: UUID) -> Obstacle | ExtraWork:
    """Return a row of the company's. kind: one of ``KINDS``. Raises ObjectDoesNotExist."""
    rows = KINDS[kind]._default_manager.filter(company=company)
    return rows.select_related("crew", "house").get(public_id=public_id)
