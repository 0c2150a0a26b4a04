"""Planning, publishing and planning again, and what a plan says of one room."""

from datetime import datetime

from finishing.models import Company
from finishing.rules.vocabulary import Stage
from scheduling.models import Plan, PlannedTask
from scheduling.services.proposals import accept_proposal
from scheduling.services.publish import publish_plan
from scheduling.services.replan import request_run, run_replan
from tests.sites import MONDAY

type Place = tuple[str, datetime, datetime]


def plan_from(company: Company, moment: datetime = MONDAY, *, work: int = 2) -> Plan:
    """Return the working plan after a run: of its proposals, if any, the fewest changes."""
    run = request_run(company=company, plan_from=moment, work=work)
    plan = run_replan(run_id=run.pk)
    assert plan is not None
    if plan.kind:
        accept_proposal(company=company, plan=plan, now=moment)
    return plan


def published_from(company: Company, moment: datetime) -> Plan:
    plan = plan_from(company, moment)
    publish_plan(company=company, now=moment)
    return plan


def task_of(plan: Plan, stage: Stage, room: str = "Hall", part: int = 1) -> PlannedTask:
    return next(
        task
        for task in plan.tasks.all()
        if task.stage == stage and task.details["room"] == room and task.details["part"][0] == part
    )


def places(plan: Plan) -> dict[str, Place]:
    """Return who does each task and when, by key."""
    rows = plan.tasks.select_related("crew")
    return {task.key: (task.crew.name, task.starts_at, task.ends_at) for task in rows}
