"""Planning, publishing and planning again, and what a plan says of one room."""

from datetime import datetime

from finishing.models import Company
from finishing.rules.vocabulary import Stage
from scheduling.models import Plan, PlannedTask, PlanRun
from scheduling.services.inputs import build_inputs
from scheduling.services.outputs import make_working, store_plan
from scheduling.services.plan_cost import PlanCost, Pricing
from scheduling.services.proposals import accept_proposal, store_proposals
from scheduling.services.publish import publish_plan
from scheduling.services.published import published_to_come
from scheduling.services.replan import request_run, run_replan
from scheduling.services.settling import Agreed, Settling
from scheduling.services.timeline import Timeline
from scheduling.solver.construct import construct
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Placement
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.serialize import problem_from_json, problem_to_json
from scheduling.solver.verify import verify
from tests.sites import MONDAY

type Place = tuple[str, datetime, datetime]


def plan_from(company: Company, moment: datetime = MONDAY, *, work: int = 2) -> Plan:
    """Return the working plan after a run: of its proposals, if any, the fewest changes. No
    machine is too slow for it: the seconds are more than enough for the work."""
    run = request_run(company=company, plan_from=moment, work=work, seconds=600)
    plan = run_replan(run_id=run.pk)
    assert plan is not None
    if plan.kind:
        accept_proposal(company=company, plan=plan, now=moment)
    return plan


def first_plan(company: Company, moment: datetime = MONDAY) -> Plan:
    """Return a working plan that is made without any search, in this process: in a moment."""
    run = request_run(company=company, plan_from=moment)
    inputs = build_inputs(company=company, now=moment)
    outcome = construct(inputs.problem)
    plan = store_plan(company=company, run=run, inputs=inputs, outcome=outcome, now=moment)
    make_working(plan)
    run.status, run.problem = PlanRun.Status.DONE, problem_to_json(inputs.problem)
    run.save()
    return plan


def quick_proposal(company: Company, moment: datetime = MONDAY) -> Plan:
    """Return the only proposal of a run over what is published: all of its work afresh, without
    any search."""
    run = request_run(company=company, plan_from=moment)
    inputs = Settling(company, moment).inputs
    published = published_to_come(company, inputs)
    assert published is not None
    agreed = Agreed(inputs, construct(inputs.problem))
    (plan,) = store_proposals(run=run, agreed=[agreed], published=published)
    run.status = PlanRun.Status.DONE
    run.save()
    return plan


def published_from(company: Company, moment: datetime) -> Plan:
    plan = plan_from(company, moment)
    publish_plan(company=company, now=moment)
    return plan


def plan_cost(plan: Plan) -> PlanCost:
    """What a plan costs, worked out anew."""
    return Pricing(plan.company).of_all([plan])[plan.pk]


def task_of(plan: Plan, stage: Stage, room: str = "Hall", part: int = 1) -> PlannedTask:
    return next(
        task
        for task in plan.tasks.all()
        if task.stage == stage and task.details["room"] == room and task.details["part"][0] == part
    )


def freed(plan: Plan) -> dict[str, str]:
    """Return by key the tasks whose visits the plan's run could not leave in place, and the rule
    that the visit would have broken."""
    visits = plan.run.freed if plan.run else []
    return {key: visit["code"] for visit in visits for key in visit["tasks"]}


def places(plan: Plan) -> dict[str, Place]:
    """Return who does each task and when, by key."""
    rows = plan.tasks.select_related("crew")
    return {task.key: (task.crew.name, task.starts_at, task.ends_at) for task in rows}


def broken_rules(plan: Plan) -> list[Violation]:
    """Return the rules of its run's problem that a plan breaks as it is stored, row by row."""
    assert plan.run is not None
    problem = held_to_the_rules(problem_from_json(plan.run.problem))
    tick = Timeline(datetime.fromisoformat(problem.origin), problem.horizon).tick_after
    found = tuple(
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in plan.tasks.select_related("crew")
    )
    return verify(problem, Outcome(Status.FEASIBLE, found, score_of(problem, found)))


def moved(before: Plan, after: Plan) -> set[str]:
    """Return the keys of the tasks of both plans that have another crew or time."""
    old, new = places(before), places(after)
    return {key for key in old.keys() & new.keys() if old[key] != new[key]}
