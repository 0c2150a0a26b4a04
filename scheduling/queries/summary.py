"""A plan in figures."""

from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from finishing.models import Crew
from finishing.rules.vocabulary import COATS
from scheduling.models import Plan, PlannedTask
from scheduling.queries.visits import plan_blocks


@dataclass(frozen=True)
class PlanSummary:
    """Counts of a plan. ``houses``: those it was asked to plan; ``coats``: room coats planned;
    ``days``: days with any visit.

    lateness_days: weighted, of handovers that the plan meets late; held ones, which it cannot
    meet at all, are counted apart.
    """

    houses: int
    coats: int
    tasks: int
    crews: int
    days: int
    visits: int
    idle_hours: float
    late_handovers: int
    held_handovers: int
    lateness_days: float


def plan_summary(plan: Plan) -> PlanSummary:
    """Return the figures of a plan; a day is counted in its crew's zone."""
    tasks = list(
        PlannedTask.objects.filter(company=plan.company_id, plan=plan).select_related("crew")
    )
    return PlanSummary(
        houses=len({row["house_id"] for row in plan.handovers}),
        coats=sum(task.stage in COATS for task in tasks),
        tasks=len(tasks),
        crews=Crew.objects.filter(company=plan.company_id).count(),
        days=len({local_day(task) for task in tasks}),
        visits=len(plan_blocks(plan)),
        idle_hours=plan.idle_minutes / 60,
        late_handovers=sum(row["late_minutes"] > 0 for row in plan.handovers),
        held_handovers=sum(row["state"] == "held" for row in plan.handovers),
        lateness_days=sum(row["late_minutes"] * row["weight"] for row in plan.handovers) / 60 / 24,
    )


def local_day(task: PlannedTask) -> date:
    """Return the day of a task where its crew is."""
    return task.starts_at.astimezone(ZoneInfo(task.crew.zone)).date()
