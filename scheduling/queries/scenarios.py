"""A company's scenarios, what was planned for each, and how far it is."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from finishing.models import Company, Crew, Dryer, House, JointingSystem
from scheduling.models import Plan, PlanRun, Scenario
from scheduling.models.run import without_large

_NAMED: tuple[Any, ...] = (Crew, House, JointingSystem, Dryer)


def scenarios_of(company: Company) -> list[Scenario]:
    """Return a company's scenarios, in the order of their making."""
    return list(Scenario.objects.filter(company=company).select_related("company", "base"))


def scenario_of(company: Company, public_id: UUID) -> Scenario:
    """Return a scenario of the company; raise Scenario.DoesNotExist for that of another."""
    rows = Scenario.objects.select_related("company", "base")
    return rows.get(company=company, public_id=public_id)


def scenario_plan(scenario: Scenario) -> Plan | None:
    """Return what was planned for a scenario last."""
    return scenario_plans([scenario]).get(scenario.pk)


def scenario_plans(scenarios: Iterable[Scenario]) -> dict[int, Plan]:
    """Return by scenario (pk) what was planned for it last."""
    plans = Plan.with_scenarios.filter(scenario__in=list(scenarios)).select_related("base", "run")
    plans = plans.defer(*without_large("run"))
    return {plan.scenario_id: plan for plan in plans.order_by("pk") if plan.scenario_id}


def is_adopted(scenario: Scenario, plan: Plan | None) -> bool:
    """Return whether a scenario, for which this is planned, has been made the working plan: nothing
    is planned for it any more, and its changes are those that were made then."""
    made = bool(scenario.changes) and scenario.planned_changes == scenario.changes
    return made and plan is None


def scenario_runs(scenarios: Iterable[Scenario], *, progress: bool = False) -> dict[int, PlanRun]:
    """Return by scenario (pk) its newest run, without its problem; progress: with all of that."""
    runs = PlanRun.all_kinds.filter(scenario__in=list(scenarios)).select_related("company")
    runs = runs.defer(None).defer("problem") if progress else runs
    return {run.scenario_id: run for run in runs.order_by("pk") if run.scenario_id}


def names_in_changes(company: Company) -> dict[UUID, str]:
    """Return by public id what a company's crews, houses, systems and dryers are called, in one
    query."""
    crews, *others = (
        kind._default_manager.filter(company=company).order_by().values_list("public_id", "name")
        for kind in _NAMED
    )
    return dict(crews.union(*others))
