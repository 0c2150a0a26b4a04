"""The solver's answer becomes rows: a plan, its tasks, holds and handovers."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from django.db import transaction

from finishing.models import Company
from finishing.rules.readiness import ODD_JOB
from scheduling.models import CompanyPlans, Plan, PlannedTask, PlanRun, Publication
from scheduling.queries.visits import CREW_MORE, visit_count
from scheduling.services.chains import chain_json
from scheduling.services.changes import handovers_json
from scheduling.services.cold_hours import cold_hours
from scheduling.services.dryer_rows import dryer_rows
from scheduling.services.dryer_stays import Move, moves_by_task
from scheduling.services.followed import may_be_followed
from scheduling.services.house_air import assumed_from
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.task_details import task_details
from scheduling.services.unplanned import holds_of
from scheduling.solver.chain import late_chains
from scheduling.solver.evaluate import handover_finishes
from scheduling.solver.explain import binding_reasons
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.problem import TICK_MINUTES, Placement, Task


@dataclass(frozen=True)
class ProposedAs:
    """What makes a plan a proposal: the revision it would change, its kind, the change."""

    base: Publication | None = None
    kind: str = ""
    change: dict[str, Any] = field(default_factory=dict)

    def change_beside(self, handovers: list[dict[str, Any]]) -> dict[str, Any]:
        """Return the change with each promise before and after; nothing for no proposal."""
        if self.base is None or self.base.plan is None:
            return {}
        before = self.base.plan.handovers
        return {**self.change, "handovers": handovers_json(before, handovers)}


FOR_WORK = ProposedAs()
"""A plan that is no proposal."""


@transaction.atomic
def store_plan(
    *,
    company: Company,
    run: PlanRun,
    inputs: PlanInputs,
    outcome: Outcome,
    now: datetime,
    proposed: ProposedAs = FOR_WORK,
) -> Plan:
    """Store a verified outcome, whole."""
    handovers = list(_handovers(inputs, outcome))
    holds = [*inputs.holds, *holds_of(inputs, outcome.unplaced)]
    plan = Plan(
        company=company,
        created_at=now,
        run=run,
        scenario=run.scenario,
        lateness_minutes=sum(row["late_minutes"] * row["weight"] for row in handovers),
        idle_minutes=outcome.score.idle,
        status=Status.PARTIAL if holds else outcome.status,
        air_assumed_from={
            house: assumed_from(air, inputs.timeline).isoformat()
            for house, air in inputs.airs.items()
        },
        cold_hours=cold_hours(inputs.airs, inputs.timeline),
        holds=[hold.as_json() for hold in holds],
        handovers=handovers,
        dryers=dryer_rows(inputs, outcome),
        base=proposed.base,
        kind=proposed.kind,
        change=proposed.change_beside(handovers),
    )
    rows = _task_rows(plan, inputs, outcome)
    plan.visits = visit_count(rows)
    plan.full_clean()
    plan.save()
    PlannedTask.objects.bulk_create(rows)
    return plan


def make_working(plan: Plan) -> None:
    """Make a plan the one its company works on."""
    CompanyPlans.objects.update_or_create(company=plan.company, defaults={"working": plan})


def _task_rows(plan: Plan, inputs: PlanInputs, outcome: Outcome) -> list[PlannedTask]:
    reasons = binding_reasons(inputs.problem, outcome.placements)
    places = {place.task: place for place in outcome.placements}
    tasks = {task.id: task for task in inputs.problem.tasks}
    moves = moves_by_task(inputs.stays.all, inputs.dryers)
    return [
        _task_row(
            plan,
            inputs,
            place,
            tasks[place.task],
            {
                **task_details(
                    inputs, place, _without_moves(tasks[place.task], moves), reasons, places
                ),
                "dryers": moves.get(place.task, []),
                **_crew_more(inputs, place),
            },
        )
        for place in sorted(outcome.placements, key=lambda place: (place.start, place.task))
    ]


def _crew_more(inputs: PlanInputs, place: Placement) -> dict[str, Any]:
    """Return what is said of a crew that has no row, in whose place another's stands."""
    if place.crew not in inputs.imagined:
        return {}
    return {CREW_MORE: {"id": place.crew, "name": inputs.crew(place.crew).name}}


def _without_moves(task: Task, moves: Mapping[str, Sequence[Move]]) -> Task:
    """Return a task with its own work alone: what of a room's stage it does follows from that."""
    minutes = sum(move["minutes"] for move in moves.get(task.id, ()))
    return replace(task, person_minutes=task.person_minutes - minutes)


def _task_row(
    plan: Plan, inputs: PlanInputs, place: Placement, task: Task, details: dict[str, Any]
) -> PlannedTask:
    stage = inputs.stages.get(place.task)
    followed = may_be_followed(inputs.problem, place, task)
    return PlannedTask(
        company_id=plan.company_id,
        plan=plan,
        key=place.task,
        crew=inputs.crew(place.crew),
        house=inputs.houses[task.house],
        area=stage.room.area if stage else None,
        stage=stage.stage if stage else ODD_JOB,
        starts_at=inputs.timeline.instant(place.start),
        ends_at=inputs.timeline.instant(place.end),
        ready_at=inputs.timeline.instant(followed[0]) if followed else None,
        details=details,
    )


def _handovers(inputs: PlanInputs, outcome: Outcome) -> Iterable[dict[str, Any]]:
    """Yield every promise and how it stands: ``planned``, ``held`` or ``done``."""
    placed = {place.task: place for place in outcome.placements}
    finishes = handover_finishes(inputs.problem, placed)
    missing = {task.handover for task in inputs.problem.tasks if task.id not in placed}
    chains = {chain.handover: chain for chain in late_chains(inputs.problem, outcome.placements)}
    for handover in sorted(inputs.handovers.values(), key=lambda row: (row.due, row.id)):
        held = handover.id in missing or handover.id in inputs.held_handovers
        met = None if held else finishes.get(handover.id)
        yield {
            "house": inputs.houses[handover.house].name,
            "house_id": handover.house,
            "areas": [area.name for area in inputs.areas_due[handover.id]],
            "due_on": handover.id.rpartition(":")[2],
            "state": "held" if held else "done" if met is None else "planned",
            "met_at": None if met is None else inputs.timeline.instant(met).isoformat(),
            "weight": handover.weight,
            "late_minutes": 0 if met is None else max(0, met - handover.due) * TICK_MINUTES,
            "chain": chain_json(inputs, placed, None if held else chains.get(handover.id)),
        }
