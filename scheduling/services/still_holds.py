"""Whether a plan made a while ago still holds: before it is accepted, before it is told."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Q

from scheduling.models import Plan, PlannedTask
from scheduling.services.done_work import published_tasks
from scheduling.services.dryer_stays import stays_of
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs, WetHouses
from scheduling.services.reported import stage_key_of
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.problem import Placement, Problem, Task
from scheduling.solver.release import held_to_the_rules
from scheduling.solver.verify import verify

GONE, PINNED_ELSEWHERE = "gone", "pinned_elsewhere"
"""Beside the rules of ``solver/verify.py``: no work to plan (any more), and a pin made since."""


@dataclass(frozen=True)
class Broken:
    """A planned task that no longer holds, and the rule that it breaks."""

    row: PlannedTask
    rule: str


def changes_begun(plan: Plan, now: datetime) -> str | None:
    """Return when the first work began (ISO 8601) that a proposal moves or adds; None as long as
    none has."""
    begins = plan.change.get("holds_until")
    return begins if begins and datetime.fromisoformat(begins) < now else None


def over_but_untold(plan: Plan, now: datetime) -> PlannedTask | None:
    """Return the first task that was to be over by now, and that no crew has been sent to do."""
    told = published_tasks(plan.company, Q(house__in=plan.tasks.values("house")))
    # That the house is the company's has the database look among those, not among all there are.
    rows = plan.tasks.filter(ends_at__lte=now, house__company=plan.company_id)
    rows = rows.select_related("crew", "house")
    return next((row for row in rows if row.key not in told), None)


def broken_since(plan: Plan, now: datetime) -> Broken | None:
    """Return the first task to come of a plan that cannot be as planned by what is known by now:
    crews away, reports, pins, houses and air as they are."""
    ends = dict(plan.tasks.filter(ends_at__gt=now).values_list("key", "ends_at"))
    wet = WetHouses(ends, stays=stays_of(plan))
    inputs = build_inputs(company=plan.company, now=now, wet=wet)
    rows = {row.key: row for row in plan.tasks.select_related("crew", "house")}
    tasks = {task.id: task for task in inputs.problem.tasks if task.id in rows}
    for key, row in rows.items():
        if key not in tasks and row.ends_at > now and stage_key_of(key) not in inputs.work.done:
            return Broken(row, GONE)
    places = {key: _place(inputs, task, rows[key]) for key, task in tasks.items()}
    if pinned := _pinned_elsewhere(plan, inputs, places):
        return Broken(rows[pinned], PINNED_ELSEWHERE)
    broken = verify(*among_placed(inputs.problem, places))
    return Broken(rows[broken[0].task], broken[0].code) if broken else None


def _place(inputs: PlanInputs, task: Task, row: PlannedTask) -> Placement:
    """Return where a planned task is; once it has begun, where it goes on."""
    if task.fixed and task.fixed.start < inputs.problem.now:
        return task.fixed
    tick = inputs.timeline.tick_after
    return Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))


def _pinned_elsewhere(
    plan: Plan, inputs: PlanInputs, places: Mapping[str, Placement]
) -> str | None:
    """Return a task that is pinned to another place, unless the plan's run set that pin aside."""
    set_aside = {key for visit in (plan.run.freed if plan.run else []) for key in visit["tasks"]}
    pins = (task.fixed for task in inputs.problem.tasks if task.id in inputs.pinned - set_aside)
    return next((pin.task for pin in pins if pin and places.get(pin.task, pin) != pin), None)


def among_placed(problem: Problem, places: Mapping[str, Placement]) -> tuple[Problem, Outcome]:
    """Return the problem of the tasks that have a place, and these as its plan."""
    tasks = tuple(task for task in problem.tasks if task.id in places)
    due = {task.handover for task in tasks}
    among = replace(
        problem,
        tasks=tasks,
        waits=tuple(w for w in problem.waits if w.before in places and w.after in places),
        handovers=tuple(row for row in problem.handovers if row.id in due),
    )
    found = tuple(places.values())
    return held_to_the_rules(among), Outcome(Status.FEASIBLE, found, score_of(among, found))
