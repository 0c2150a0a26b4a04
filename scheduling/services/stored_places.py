"""Where a stored plan has its tasks, as the solver knows it."""

from scheduling.models import Plan, PlannedTask
from scheduling.queries.visits import CREW_MORE
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.problem import Placement


def crew_id(task: PlannedTask) -> str:
    """Return the id of a planned task's crew; in a scenario it may have no row of its own."""
    more = task.details.get(CREW_MORE)
    return str(more["id"]) if more else str(task.crew.public_id)


def stored_places(plan: Plan, inputs: PlanInputs) -> list[Placement]:
    """Return the placements of a plan's tasks that a problem still has, with crews it still has."""
    tick = inputs.timeline.tick_after
    tasks = {task.id: task for task in inputs.problem.tasks}
    places = [
        Placement(row.key, crew_id(row), tick(row.starts_at), tick(row.ends_at))
        for row in plan.tasks.select_related("crew")
        if row.key in tasks
    ]
    return [place for place in places if place.crew in inputs.crews or tasks[place.task].fixed]
