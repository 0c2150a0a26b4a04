"""The page of one scenario: its name, what it changes, what was planned for it."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from api.web.run_chart import RunChart, run_chart
from api.web.run_standing import Progress, progress_of
from finishing.queries.companies import can_plan
from finishing.queries.houses import zones_of_houses
from scheduling.models import Plan, PlanRun, Scenario
from scheduling.queries.scenarios import (
    is_adopted,
    names_in_changes,
    scenario_plan,
    scenario_runs,
)
from scheduling.scenario_wording import KIND_NAMES, change_sentence, step_sentence
from scheduling.services.adopt_scenario import beyond_us
from scheduling.services.run_progress import found_so_far
from scheduling.services.scenario_changes import changes_of
from scheduling.wording import handover_sentence, hold_sentence


@dataclass(frozen=True)
class ScenarioPage:
    """All that the page shows. changes: in words, by number. steps: each change, and what becomes
    of the company if this becomes the working plan."""

    scenario: Scenario
    changes: list[tuple[int, str]]
    kinds: list[tuple[str, str]]
    progress: Progress | None
    course: RunChart | None
    stopping: bool
    plan: Plan | None
    is_outdated: bool
    is_adopted: bool
    base_is_old: bool
    handovers: list[str]
    holds: list[str]
    steps: list[tuple[str, str]]
    beyond_us: bool
    can_plan: bool


def scenario_page(scenario: Scenario, working: Plan | None, *, now: datetime) -> ScenarioPage:
    """Return the page as things stand."""
    plan = scenario_plan(scenario)
    run = scenario_runs([scenario], progress=True).get(scenario.pk)
    names = names_in_changes(scenario.company)
    changes = changes_of(scenario.changes)
    said = [change_sentence(change, names) for change in changes]
    return ScenarioPage(
        scenario=scenario,
        changes=list(enumerate(said)),
        kinds=[(code, str(name)) for code, name in KIND_NAMES.items()],
        progress=progress_of(run, now),
        course=_course(run, now),
        stopping=run is not None and run.stop_requested,
        plan=plan,
        is_outdated=plan is not None and scenario.planned_changes != scenario.changes,
        is_adopted=is_adopted(scenario, plan),
        base_is_old=plan is not None and working is not None and scenario.base_id != working.pk,
        handovers=_handovers(scenario, plan) if plan else [],
        holds=[hold_sentence(hold) for hold in plan.holds] if plan else [],
        steps=list(zip(said, map(step_sentence, changes), strict=True)),
        beyond_us=bool(beyond_us(scenario)),
        can_plan=can_plan(scenario.company),
    )


def _course(run: PlanRun | None, now: datetime) -> RunChart | None:
    if run is None or run.claimed_at is None:
        return None
    ended = run.finished_at or now
    return run_chart(found_so_far(run), (ended - run.claimed_at).total_seconds())


def _handovers(scenario: Scenario, plan: Plan) -> list[str]:
    zones = zones_of_houses(scenario.company)
    usual = ZoneInfo(scenario.company.zone)
    return [handover_sentence(row, zones.get(row["house"], usual)) for row in plan.handovers]
