"""The published revision as the plan that a replan is to change little."""

from collections.abc import Mapping
from dataclasses import dataclass

from finishing.models import Company, House
from scheduling.models import Publication, Visit
from scheduling.queries.plans import latest_publication
from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.change import Current
from scheduling.solver.problem import Placement


@dataclass(frozen=True)
class Published:
    """A revision, and where its work to come is.

    Work that was held back when the revision was published is in its plan, but no crew has seen
    it: it stays where the plan has it if it can, and moving it is no change. houses: by task, those
    of the work that crews have been told of, whether or not there is such work any more.
    """

    publication: Publication
    current: Current
    houses: Mapping[str, House]


def published_to_come(company: Company, inputs: PlanInputs) -> Published | None:
    """Return the latest revision with its work to come; None where crews expect nothing more."""
    publication = latest_publication(company)
    if publication is None or publication.plan is None or not inputs.published:
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
        _houses(company),
    )


def _houses(company: Company) -> dict[str, House]:
    visits = Visit.objects.filter(company=company, cancelled_at=None).select_related("house")
    return {row["key"]: visit.house for visit in visits for row in visit.content["tasks"]}
