"""The published revision as the plan that a replan is to change little."""

from dataclasses import dataclass

from finishing.models import Company
from scheduling.models import Publication
from scheduling.queries.plans import latest_publication
from scheduling.services.inputs import PlanInputs
from scheduling.solver.change import Current
from scheduling.solver.problem import Placement


@dataclass(frozen=True)
class Published:
    """A revision, and where its work to come is.

    Work that was held back when the revision was published is in its plan, but no crew has seen
    it: it stays where the plan has it if it can, and moving it is no change.
    """

    publication: Publication
    current: Current


def published_to_come(company: Company, inputs: PlanInputs) -> Published | None:
    """Return the latest revision with its work to come; None where crews expect nothing more."""
    publication = latest_publication(company)
    if publication is None or not inputs.published:
        return None
    tick = inputs.timeline.tick_after
    rows = publication.plan.tasks.exclude(key__in=inputs.published).select_related("crew")
    held_back = [
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in rows
    ]
    return Published(
        publication,
        Current(
            (*inputs.published.values(), *held_back),
            frozenset(place.task for place in held_back),
        ),
    )
