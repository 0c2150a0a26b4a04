"""What is planned for a scenario, in its changed problem: stored apart from all other plans."""

from contextlib import suppress

from django.db import transaction
from django.utils import timezone

from finishing.services.held_company import hold_company
from scheduling.models import Plan, PlanRun, Scenario
from scheduling.queries.plans import working_plan
from scheduling.services.changes import change_json
from scheduling.services.outputs import FOR_WORK, ProposedAs, store_plan
from scheduling.services.plan_inputs import AS_IT_IS, WhatIf
from scheduling.services.published import published_to_come
from scheduling.services.scenario_changes import changes_of
from scheduling.services.scenario_odds import Json
from scheduling.services.settling import Agreed, Settling, UnsettledError
from scheduling.services.stored_places import stored_places
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.release import broken_rules


def what_if_of(run: PlanRun) -> WhatIf:
    """Return what a run plans with otherwise than it is: nothing, unless it is a scenario's."""
    return WhatIf(changes=changes_of(run.scenario.changes)) if run.scenario else AS_IT_IS


def no_worse_than(settling: Settling, base: Plan | None, found: Agreed) -> Agreed:
    """Return the plan found, or the base itself where that holds in the changed problem and is
    better: a scenario is not to look worse for a search that was out of luck."""
    if base is None:
        return found
    problem = settling.inputs.problem
    places = tuple(stored_places(base, settling.inputs))
    if {place.task for place in places} != {task.id for task in problem.tasks}:
        return found
    kept = Outcome(Status.FEASIBLE, places, score_of(problem, places))
    if broken_rules(problem, kept):
        return found
    with suppress(UnsettledError):
        agreed = settling.beside().agreed(kept)
        if agreed and not found.outcome.score <= agreed.outcome.score:
            return agreed
    return found


@transaction.atomic
def store_scenario_plan(*, run: PlanRun, scenario: Scenario, agreed: Agreed, odds: Json) -> Plan:
    """Store what was planned for a scenario in the place of what was planned for it before."""
    # Whoever makes it the working plan meanwhile is awaited, and has removed the run then.
    hold_company(run.company_id)
    Plan.with_scenarios.filter(scenario=scenario).delete()
    PlanRun.all_kinds.filter(scenario=scenario, pk__lt=run.pk).delete()
    published = published_to_come(run.company, agreed.inputs)
    proposed = FOR_WORK
    if published:
        change = change_json(agreed.inputs, published, agreed.outcome)
        proposed = ProposedAs(published.publication, change=change)
    plan = store_plan(
        company=run.company,
        run=run,
        inputs=agreed.inputs,
        outcome=agreed.outcome,
        now=timezone.now(),
        proposed=proposed,
    )
    Scenario.objects.filter(pk=scenario.pk).update(
        base=working_plan(run.company), planned_changes=scenario.changes, odds=odds
    )
    return plan
