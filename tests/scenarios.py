"""Scenarios planned for tests, and every row of a company that is not a scenario's."""

from typing import Any

from django.core import serializers

from finishing.models import Company
from scheduling.models import Plan, PlannedTask, Scenario
from scheduling.services.company_file import kept_models
from scheduling.services.replan import request_run, run_replan
from scheduling.services.scenario_changes import ScenarioChange
from scheduling.services.scenarios import make_scenario
from tests.sites import MONDAY


def scenario_with(company: Company, *changes: ScenarioChange, name: str = "What if") -> Scenario:
    return make_scenario(company=company, name=name, now=MONDAY, changes=changes)


def planned_for(scenario: Scenario, *, work: int = 2) -> Plan:
    """Return what a run plans for a scenario."""
    run = request_run(
        company=scenario.company, plan_from=MONDAY, work=work, seconds=600, scenario=scenario
    )
    plan = run_replan(run_id=run.pk)
    assert plan is not None
    scenario.refresh_from_db()
    return plan


def rows_beside_scenarios(company: Company) -> dict[str, str]:
    """Return by kind every row of a company but those of scenarios, as they are stored."""
    return {
        model._meta.label: serializers.serialize("json", _rows(model, company))
        for model in kept_models()
        if model is not Scenario
    }


def _rows(model: Any, company: Company) -> Any:
    rows = model._default_manager.order_by("pk")
    if model is PlannedTask:
        rows = rows.filter(plan__scenario=None)
    return rows.filter(pk=company.pk) if model is Company else rows.filter(company=company)
