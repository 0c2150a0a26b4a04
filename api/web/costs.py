"""What the working plan costs, house by house and visit by visit, and what hours it took so far."""

from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Company, House
from finishing.rules.costs import Cost
from scheduling.cost_wording import (
    Unpriced,
    left_out_of,
    part_amounts,
    part_names,
    unpriced_of,
)
from scheduling.jobs import costs_for_page
from scheduling.models import Plan
from scheduling.queries.plans import working_plan
from scheduling.services.hours_compared import StageHours, stage_hours
from scheduling.services.plan_cost import HouseCost, PlanCost, VisitCost, paid_since
from scheduling.wording import figure, moment, stage_name


@dataclass(frozen=True)
class CostLine:
    """A row: what it is of, its person-hours, its parts by name. house: the id of one that it
    leads to."""

    name: str
    hours: str
    parts: list[tuple[str, str]]
    house_id: str = ""


@dataclass(frozen=True)
class CostPage:
    """A table of costs; heads: of its parts. left_out: of which work nothing is counted. has_plan:
    whether there is a plan to cost anything. since: the moment from which on it counts, where that
    is said."""

    heads: list[str]
    lines: list[CostLine]
    total: CostLine
    unpriced: Unpriced
    left_out: str
    has_plan: bool
    since: str = ""


@dataclass(frozen=True)
class HoursLine:
    """A stage: person-hours planned and taken in visits reported from start to end, and planned
    in those that were not; difference: of the first two."""

    stage: str
    planned: str
    actual: str
    difference: str
    unreported: str


@dataclass(frozen=True)
class HouseCosts:
    """The costs of one house, and its hours."""

    house: House
    costs: CostPage
    hours: list[HoursLine]


def company_costs(company: Company, *, now: datetime) -> CostPage:
    """Return what the working plan costs by house. Raises NotYetError as ``costs_for_page``."""
    plan = working_plan(company)
    if plan is None:
        return _page(company, None, [], PlanCost(()))
    cost = costs_for_page(company, [plan], now=now)[plan.pk]
    lines = [_house_line(one, company) for one in cost.houses]
    page = _page(company, plan, lines, cost)
    since = paid_since(plan)
    return replace(page, since=moment(since, ZoneInfo(company.zone)) if since else "")


def house_costs(house: House, *, now: datetime) -> HouseCosts:
    """Return what a house costs in the working plan, and the hours of its visits so far. Raises
    NotYetError as ``costs_for_page``."""
    plan, company = working_plan(house.company), house.company
    found = costs_for_page(company, [plan], now=now)[plan.pk] if plan else PlanCost(())
    cost = found.of(house)
    lines = [_visit_line(one, company) for one in cost.visits]
    if cost.beside.total or cost.beside.unpriced:
        lines.append(CostLine("", "", _parts(cost.beside, company)))
    page = _page(company, plan, lines, cost)
    return HouseCosts(house, page, [_hours_line(one) for one in stage_hours(house, now)])


def _page(
    company: Company, plan: Plan | None, lines: list[CostLine], found: PlanCost | HouseCost
) -> CostPage:
    total = found.cost
    last = CostLine("", _hours(found.person_minutes), _parts(total, company))
    house_id = found.house_id if isinstance(found, HouseCost) else ""
    left_out = left_out_of(plan, house_id=house_id) if plan else ""
    return CostPage(
        part_names(), lines, last, unpriced_of(total.unpriced), left_out, plan is not None
    )


def _house_line(one: HouseCost, company: Company) -> CostLine:
    parts = _parts(one.cost, company)
    return CostLine(one.name, _hours(one.person_minutes), parts, one.house_id)


def _visit_line(one: VisitCost, company: Company) -> CostLine:
    starts = moment(one.starts_at, ZoneInfo(one.zone))
    name = f"{starts}, {one.crew_name}"
    return CostLine(name, _hours(one.person_minutes), _parts(one.cost, company))


def _parts(cost: Cost, company: Company) -> list[tuple[str, str]]:
    return list(zip(part_names(), part_amounts(cost, company), strict=True))


def _hours_line(row: StageHours) -> HoursLine:
    return HoursLine(
        stage_name(row.stage),
        _hours(row.planned),
        _hours(row.actual),
        f"{(row.actual - row.planned) / 60:+.1f}",
        _hours(row.unreported),
    )


def _hours(minutes: int) -> str:
    return figure(minutes / 60)
