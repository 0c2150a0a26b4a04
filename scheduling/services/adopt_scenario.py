"""A scenario's plan becomes the working plan, and what it counts on becomes so: all or nothing.

A plan with a crew that is not there, or in a house that nobody heats, is no plan to work on. So
the changes are made to the company first, and a copy of the plan is then held against all that is
known of the company itself, the changes among it. One rule broken, and nothing was changed.

It is done once: what was planned for the scenario goes, and nothing more is planned for it, so that
nobody who comes by it later makes a second crew.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from finishing.models import Change, Crew, User
from finishing.services.company_log import OF_CREWS, logged
from finishing.services.errors import InputFaults, faults_of_row
from finishing.services.held_company import hold_company
from finishing.services.rows import claim_row
from scheduling.models import CompanyPlans, Plan, PlannedTask, PlanRun, Scenario
from scheduling.queries.scenarios import is_adopted, scenario_plan
from scheduling.queries.visits import CREW_MORE
from scheduling.services.dryer_stays import stays_of
from scheduling.services.inputs import build_inputs
from scheduling.services.made_true import MAKE_TRUE, Making
from scheduling.services.outputs import make_working
from scheduling.services.plan_inputs import WetHouses
from scheduling.services.scenario_changes import ScenarioChange, changes_of
from scheduling.services.scenario_faults import change_faults
from scheduling.services.still_holds import broken_since, over_but_untold
from scheduling.solver.serialize import problem_to_json

LOGGED = (*OF_CREWS, Change.What.SYSTEM, Change.What.DRYER)


class AdoptError(Exception):
    """A scenario that cannot be worked on: a code and its values, for wording."""

    def __init__(self, code: str, **values: object) -> None:
        super().__init__(code)
        self.code, self.values = code, values


def beyond_us(scenario: Scenario) -> list[ScenarioChange]:
    """Return the changes that nobody can make: the weather."""
    return [one for one in changes_of(scenario.changes) if type(one) not in MAKE_TRUE]


def adopt_scenario(*, scenario: Scenario, version: int, by: User | None, now: datetime) -> Plan:
    """Make the scenario's changes true and its plan the working plan; return that.

    Publishing it is another step. Raises AdoptError: ``adopted`` (it was made so before),
    ``not_planned``, ``outdated`` (other changes since it was planned), ``beyond_us``, ``over``
    (work that it counts as done, and nobody was told of), ``broken`` (it breaks a rule by what is
    known by now); StaleRowsError where the scenario, or a row that a change is of, was changed
    meanwhile; InputFaults for a change that a row cannot take.
    """
    with transaction.atomic():
        company = hold_company(scenario.company_id)
        CompanyPlans.objects.select_for_update().filter(company=company).first()
        _refuse_adopted(scenario)
        claim_row(scenario, version=version)
        tried = _plan_to_adopt(scenario)
        making = Making(company, by, now)
        _make_true(making, changes_of(scenario.changes))
        plan = _as_plan_to_work_on(tried, making.crews, now)
        _refuse_broken(plan, now)
        _note_problem(plan, now)
        make_working(plan)
        _plan_no_more(scenario)
    return plan


def _refuse_adopted(scenario: Scenario) -> None:
    """Before its version is looked at: who clicks twice is told what is so, and of nobody else."""
    now = Scenario.objects.filter(pk=scenario.pk).first()
    if now and is_adopted(now, scenario_plan(now)):
        raise AdoptError("adopted")


def _plan_no_more(scenario: Scenario) -> None:
    """Remove what was planned for it, and the runs, also one that goes on: see ``is_adopted``."""
    Plan.with_scenarios.filter(scenario=scenario).delete()
    PlanRun.all_kinds.filter(scenario=scenario).delete()


def _make_true(making: Making, changes: Sequence[ScenarioChange]) -> None:
    if faults := change_faults(making.company, changes):  # of rows that are gone by now
        raise InputFaults(faults)
    with logged(making.company, LOGGED, by=making.by, now=making.now):
        try:
            for change in changes:
                MAKE_TRUE[type(change)](making, change)
        except ValidationError as error:
            raise InputFaults(faults_of_row(error)) from None


def _plan_to_adopt(scenario: Scenario) -> Plan:
    plan = scenario_plan(scenario)
    if plan is None:
        raise AdoptError("not_planned")
    if scenario.planned_changes != scenario.changes:
        raise AdoptError("outdated")
    if beyond_us(scenario):
        raise AdoptError("beyond_us")
    return plan


def _as_plan_to_work_on(tried: Plan, crews: Mapping[str, Crew], now: datetime) -> Plan:
    """Store a plan like a scenario's, of no scenario, with crews that have rows by now."""
    run = _run_like(tried, now)
    tasks = list(PlannedTask.objects.filter(plan=tried).select_related("crew", "house", "area"))
    names = [
        field.name
        for field in Plan._meta.concrete_fields
        if field.name not in {"id", "public_id", "version", "scenario", "run", "created_at"}
    ]
    plan = Plan(created_at=now, run=run, **{name: getattr(tried, name) for name in names})
    plan.full_clean()
    plan.save()
    PlannedTask.objects.bulk_create(_task_of(plan, task, crews) for task in tasks)
    return plan


def _run_like(tried: Plan, now: datetime) -> PlanRun:
    """Store a run, over already, that the plan to work on is said to be of."""
    run = PlanRun(
        company_id=tried.company_id,
        requested_at=now,
        claimed_at=now,
        finished_at=now,
        plan_from=now,
        status=PlanRun.Status.DONE,
        freed=tried.run.freed if tried.run else [],
    )
    run.full_clean()
    run.save()
    return run


def _note_problem(plan: Plan, now: datetime) -> None:
    """Keep with the plan's run the problem that it was held against, as every run does."""
    ends = dict(plan.tasks.filter(ends_at__gt=now).values_list("key", "ends_at"))
    wet = WetHouses(ends, stays=stays_of(plan))
    problem = build_inputs(company=plan.company, now=now, wet=wet).problem
    assert plan.run is not None
    plan.run.problem = problem_to_json(problem)
    plan.run.save(update_fields=["problem"])


def _task_of(plan: Plan, task: PlannedTask, crews: Mapping[str, Crew]) -> PlannedTask:
    more = task.details.get(CREW_MORE)
    return PlannedTask(
        company_id=plan.company_id,
        plan=plan,
        key=task.key,
        crew=crews[more["id"]] if more else task.crew,
        house=task.house,
        area=task.area,
        stage=task.stage,
        starts_at=task.starts_at,
        ends_at=task.ends_at,
        ready_at=task.ready_at,
        details={name: value for name, value in task.details.items() if name != CREW_MORE},
    )


def _refuse_broken(plan: Plan, now: datetime) -> None:
    if over := over_but_untold(plan, now):
        raise AdoptError("over", house=over.house.name, moment=over.starts_at)
    if broken := broken_since(plan, now):
        row = broken.row
        raise AdoptError(
            "broken",
            house=row.house.name,
            stage=row.stage,
            room=row.details["room"] or row.details["job"],
            moment=row.starts_at,
            rule=broken.rule,
        )
