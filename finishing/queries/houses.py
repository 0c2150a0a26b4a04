"""Houses with all that planning reads of them."""

from django.db.models import QuerySet

from finishing.models import Company, House

SYSTEM_PATHS = ("system", "areas__system")
PLANNING_PATHS = (
    "areas__rooms__surfaces__joints",
    "areas__closures",
    "readiness",
    "odd_jobs",
    *(f"{path}__stage_rows__compound" for path in SYSTEM_PATHS),
)


def houses_for_planning(company: Company) -> QuerySet[House]:
    """Return the company's houses, those handed over first in front.

    A fixed number of queries, however many houses. Of each: areas with rooms, surfaces, joint
    lines, closures and the coat done last; systems with their compounds; readiness; odd jobs.
    """
    return (
        House.objects.filter(company=company, is_active=True)
        .select_related("company", "air_source")
        .prefetch_related(*PLANNING_PATHS, "areas__coat_done__compound")
        .order_by("handover_on", "id")
    )
