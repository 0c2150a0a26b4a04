"""Whether a company's rows are as they were: what was worked out from them is then still so."""

from django.db.models import Count, Max, Sum, Value

from finishing.models import (
    AirDay,
    AirSource,
    Area,
    Closure,
    CoatDone,
    Company,
    Compound,
    Crew,
    CrewHours,
    CrewMember,
    DayOff,
    Dryer,
    ExtraHours,
    ForecastEnsemble,
    Holiday,
    House,
    JointingSystem,
    JointLine,
    LabourRate,
    Loan,
    OddJob,
    ReadinessLine,
    Room,
    StockLine,
    Supply,
    Surface,
    SystemStage,
)
from finishing.models.owned import Owned
from scheduling.models import CompanyPlans, Pin, Publication, Report, Visit

READ_BY_PLANNING: tuple[type[Owned], ...] = (
    *(AirDay, AirSource, Area, Closure, CoatDone, Compound, Crew, CrewHours, CrewMember, DayOff),
    *(Dryer, ExtraHours, ForecastEnsemble, Holiday, House, JointingSystem, JointLine, LabourRate),
    *(Loan, OddJob, Pin, Publication, ReadinessLine, Report, Room, StockLine, Supply, Surface),
    *(SystemStage, Visit),
)
"""Plans themselves never change; which of them count is asked for by itself."""


def row_state(company: Company) -> str:
    """Return a text that is another after any row was added, changed or removed that planning
    reads, in three queries: a change counts up the row's version, a new row has a higher key."""
    counted = [
        model._default_manager.filter(company=company)
        .order_by()
        .values("company")
        .annotate(kind=Value(kind), rows=Count("pk"), versions=Sum("version"), last=Max("pk"))
        .values_list("kind", "rows", "versions", "last")
        for kind, model in enumerate(READ_BY_PLANNING)
    ]
    found = counted[0].union(*counted[1:], all=True).order_by()
    plans = CompanyPlans.objects.filter(company=company).values_list("working", "published")
    version = Company.objects.filter(pk=company.pk).values_list("version")
    return f"{sorted(found)} {plans.first()} {version.first()}"
