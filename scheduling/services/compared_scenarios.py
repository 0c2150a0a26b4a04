"""What the working plan and the plans of scenarios come to, side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from finishing.models import Company
from scheduling.models import CompanyPlans, Plan, Scenario
from scheduling.models.run import without_large
from scheduling.queries.scenarios import scenario_plans
from scheduling.services.kept_costs import CostBeside, costs_beside
from scheduling.services.plan_cost import PlanCost

MINUTES_A_DAY = 24 * 60


@dataclass(frozen=True)
class PlanFigures:
    """A plan in figures; None for what is not known of it.

    scenario: None for the working plan. late_days: weighted. missed: handovers late or not planned.
    moved: published visits that it moves. odds_missed: handovers missed on average in the
    histories of the air. cost: from the moment on from which all of them are made; None for who
    may not see it.
    """

    scenario: Scenario | None
    plan: Plan
    late_days: float
    missed: int
    idle_hours: float
    visits: int
    moved: int | None
    odds_missed: float | None
    cost: CostBeside | None = None

    @property
    def is_outdated(self) -> bool:
        """Whether its scenario has other changes by now."""
        return self.scenario is not None and (
            self.scenario.planned_changes != self.scenario.changes
        )


def priced(rows: Sequence[PlanFigures], costs: Mapping[int, PlanCost]) -> list[PlanFigures]:
    """Return figures with what their plans cost (by pk)."""
    beside = costs_beside([row.plan for row in rows], costs)
    return [replace(row, cost=beside[row.plan.pk]) for row in rows]


def compared(company: Company, scenarios: Sequence[Scenario]) -> list[PlanFigures]:
    """Return the figures of the working plan, if there is one, then those of each scenario for
    which something is planned; without costs."""
    plans_of_company = CompanyPlans.objects.filter(company=company)
    standing = (
        plans_of_company.select_related("working__run", "published")
        .defer(*without_large("working__run"))
        .first()
    )
    plans = scenario_plans(scenarios)
    rows = [_of_scenario(one, plans[one.pk]) for one in scenarios if one.pk in plans]
    if standing is None or standing.working is None:
        return rows
    return [_of_working(standing, standing.working, scenarios), *rows]


def _of_working(standing: CompanyPlans, plan: Plan, scenarios: Sequence[Scenario]) -> PlanFigures:
    mine = [one.odds.get("base") for one in scenarios if one.base_id == plan.pk]
    odds = [found for found in mine if found]
    moved = 0 if standing.published_id == plan.pk else _moved(plan)
    return _figures(None, plan, moved, odds[-1] if odds else {})


def _of_scenario(scenario: Scenario, plan: Plan) -> PlanFigures:
    return _figures(scenario, plan, _moved(plan), scenario.odds.get("own", {}))


def _moved(plan: Plan) -> int | None:
    moved = plan.change.get("figures", {}).get("visits_moved")
    return None if moved is None else int(moved)


def _figures(
    scenario: Scenario | None, plan: Plan, moved: int | None, odds: dict[str, float]
) -> PlanFigures:
    return PlanFigures(
        scenario=scenario,
        plan=plan,
        late_days=plan.lateness_minutes / MINUTES_A_DAY,
        missed=sum(row["state"] == "held" or row["late_minutes"] > 0 for row in plan.handovers),
        idle_hours=plan.idle_minutes / 60,
        visits=plan.visits,
        moved=moved,
        odds_missed=odds.get("missed"),
    )
