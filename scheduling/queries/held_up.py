"""What a house's open readiness lines hold up."""

from collections.abc import Iterable

from finishing.models import Company, House
from finishing.rules.readiness import ODD_JOB, needs
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.models import Plan, PlannedTask

ALL_STAGES = (*Stage, ODD_JOB)


def stages_left(
    company: Company, house: House, plan: Plan | None, tasks: Iterable[PlannedTask]
) -> list[str]:
    """Return the stages that a plan still has in a house, placed or not, in order of doing.

    tasks: those of the plan there that are not over. Without a plan: all that the company does.
    """
    if plan is None:
        return [stage for stage in ALL_STAGES if stage in {*company.stages, ODD_JOB}]
    held = [hold for hold in plan.holds if hold.get("house_id") == str(house.public_id)]
    found = {task.stage for task in tasks}
    found |= {str(stage) for hold in held for stage in hold.get("stages") or []}
    found |= {ODD_JOB for hold in held if hold.get("job")}
    return [stage for stage in ALL_STAGES if stage in found]


def held_up_by(item: Readiness, stages: Iterable[str]) -> list[str]:
    """Return those of the stages that cannot start while a line is open."""
    return [stage for stage in stages if item in needs(stage)]
