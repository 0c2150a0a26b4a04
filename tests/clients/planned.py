"""What calendars have to show: read from the database, and not by what writes calendars."""

from django.utils import translation

from finishing.models import Company, Crew
from scheduling.models import Visit
from scheduling.queries.plans import working_plan
from scheduling.queries.visits import plan_blocks
from scheduling.visit_wording import visit_title
from tests.clients.reading import Reading, Shown


def planned_for_crew(crew: Crew) -> Reading:
    """Return what a crew has been told, visits that were called off with it."""
    with translation.override(crew.language):
        visits = Visit.objects.filter(crew=crew)
        return Reading.of(map(_shown, visits), crew.name)


def assert_visits_are_the_plan(company: Company) -> None:
    """Visits that are not called off are the blocks of the plan, neither more nor fewer."""
    plan = working_plan(company)
    assert plan is not None
    planned = {(b.crew.pk, b.house.pk, b.starts_at, b.ends_at) for b in plan_blocks(plan)}
    told = Visit.objects.filter(company=company, cancelled_at=None)
    assert set(told.values_list("crew", "house", "starts_at", "ends_at")) == planned


def _shown(visit: Visit) -> Shown:
    cancelled = visit.cancelled_at is not None
    return Shown.of(
        str(visit.uid),
        visit.starts_at,
        visit.ends_at,
        visit_title(visit.content, cancelled=cancelled),
        status="CANCELLED" if cancelled else None,
    )
