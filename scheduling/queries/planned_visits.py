"""A visit of a plan by the id of a task in it; plans are replaced, and their tasks with them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from finishing.models import Company, Crew, House
from scheduling.models import Plan, PlannedTask
from scheduling.queries.plans import working_plan
from scheduling.queries.visits import Block, blocks_between, blocks_of

_REACH = timedelta(days=2)
"""Longer than any visit: other work of the crew so near tells whether there is a set-up."""
_FAR = timedelta(days=3650)


@dataclass(frozen=True)
class PlannedVisit:
    """A visit of a plan. now: the visit of the working plan that goes on with the same work, where
    that is another plan; None where there is none. is_current: whether it is the working plan."""

    company: Company
    plan: Plan
    block: Block
    is_current: bool
    now: "PlannedVisit | None" = None

    @property
    def keys(self) -> list[str]:
        return [task.key for task in self.block.tasks]

    @property
    def public_id(self) -> UUID:
        """The id that the visit goes by: that of its first task."""
        return visit_id(self.block)


def visit_id(block: Block) -> UUID:
    """Return the id that a visit goes by: that of its first task."""
    return block.tasks[0].public_id


def planned_visit(company: Company, public_id: UUID) -> PlannedVisit:
    """Return the visit that a planned task belongs to; raise PlannedTask.DoesNotExist where the
    company has no such task."""
    rows = PlannedTask.objects.select_related("plan", "crew__company", "house__company")
    task = rows.get(company=company, public_id=public_id, plan__scenario=None)
    working = working_plan(company)
    block = _block_with(task)
    if task.plan == working:
        return PlannedVisit(company, task.plan, block, is_current=True)
    return PlannedVisit(
        company, task.plan, block, is_current=False, now=_same_work(company, working, block)
    )


def blocks_to_come(plan: Plan, now: datetime) -> list[Block]:
    """Return by time a plan's visits that are not over."""
    return blocks_during(plan, now, now + _FAR)


def blocks_during(plan: Plan, first: datetime, last: datetime) -> list[Block]:
    """Return by time a plan's visits, whole, of which some part is between two moments."""
    company = plan.company_id
    blocks = blocks_between(
        plan,
        first - _REACH,
        last + _REACH,
        crews=Crew.objects.filter(company=company).select_related("company"),
        houses=House.objects.filter(company=company).select_related("company"),
        with_details=False,
    )
    return [block for block in blocks if block.ends_at > first and block.starts_at < last]


def _same_work(company: Company, plan: Plan | None, block: Block) -> PlannedVisit | None:
    """Return the visit of a plan that has the first piece of a block's work that is in the plan."""
    if plan is None:
        return None
    rows = PlannedTask.objects.filter(company=company, plan=plan)
    for_keys = rows.select_related("plan", "crew__company", "house__company")
    by_key = {row.key: row for row in for_keys.filter(key__in=[t.key for t in block.tasks])}
    row = next((by_key[task.key] for task in block.tasks if task.key in by_key), None)
    return PlannedVisit(company, plan, _block_with(row), is_current=True) if row else None


def _block_with(task: PlannedTask) -> Block:
    rows = PlannedTask.objects.filter(
        company=task.company_id,
        plan=task.plan_id,
        crew=task.crew_id,
        starts_at__gt=task.starts_at - _REACH,
        starts_at__lt=task.starts_at + _REACH,
    )
    with_crews = rows.select_related("crew__company", "house__company", "area")
    return next(block for block in blocks_of(with_crews) if task in block.tasks)
