"""Whether a company's rows are as they were: what was worked out from them is then still so."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Count, Max, QuerySet, Sum, Value

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
    PlacingRate,
    Price,
    ReadinessLine,
    Room,
    StockLine,
    Supply,
    Surface,
    SystemStage,
)
from finishing.models.owned import Owned
from scheduling.models import CompanyPlans, Pin, Publication, Report, Visit, VisitPerson

READ_BY_PLANNING: tuple[type[Owned], ...] = (
    *(AirDay, AirSource, Area, Closure, CoatDone, Compound, Crew, CrewHours, CrewMember, DayOff),
    *(Dryer, ExtraHours, ForecastEnsemble, Holiday, House, JointingSystem, JointLine, LabourRate),
    *(Loan, OddJob, Pin, Publication, ReadinessLine, Report, Room, StockLine, Supply, Surface),
    *(SystemStage, Visit, PlacingRate, Price, VisitPerson),
)
"""The last three by pages alone: how fast compound goes on, what things cost, who was told of a
visit. Plans themselves never change; which of them count is asked for by itself."""

READ_BY_PRICING: tuple[type[Owned], ...] = (Area, Compound, Crew, Dryer, House, Price, Supply)
"""Prices of hours and packs, and which day it is where crews work."""


def row_state(company: Company) -> str:
    """Return a text that is another after any row was added, changed or removed that planning
    reads, in one query: a change counts up the row's version, a new row has a higher key."""
    whose = CompanyPlans.objects.filter(company=company).annotate(kind=Value(-1))
    plans = whose.values_list("kind", "working", "published", "pk")
    itself = Company.objects.filter(pk=company.pk).annotate(kind=Value(-2), rows=Value(1))
    version = itself.values_list("kind", "rows", "version", "pk")
    return str(_state_of(READ_BY_PLANNING, company, plans, version))


def price_state(company: Company) -> str:
    """Return a text that is another after any row was added, changed or removed that says what
    stored plans cost, in one query."""
    return f"{_state_of(READ_BY_PRICING, company)} {company.version}"


def _state_of(
    models: Iterable[type[Owned]], company: Company, *more: QuerySet[Any, tuple[Any, ...]]
) -> list[tuple[int, ...]]:
    """Return by kind how many rows there are, the sum of their versions and the last key; more:
    rows of figures beside those, each of a kind of its own."""
    counted = [
        model._default_manager.filter(company=company)
        .order_by()
        .values("company")
        .annotate(kind=Value(kind), rows=Count("pk"), versions=Sum("version"), last=Max("pk"))
        .values_list("kind", "rows", "versions", "last")
        for kind, model in enumerate(models)
    ]
    return sorted(counted[0].union(*counted[1:], *more, all=True).order_by())
