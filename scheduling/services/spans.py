"""When and by whom a visit's tasks are done, as JSON for wording."""

from collections.abc import Sequence
from typing import Any

from scheduling.services.plan_inputs import PlanInputs
from scheduling.solver.problem import Placement


def span_json(inputs: PlanInputs, places: Sequence[Placement]) -> dict[str, Any]:
    """Return the crew, its zone, and the first start and last end of some places of one crew."""
    crew = inputs.crew(places[0].crew)
    instant = inputs.timeline.instant
    return {
        "crew": crew.name,
        "zone": crew.zone,
        "starts_at": instant(min(place.start for place in places)).isoformat(),
        "ends_at": instant(max(place.end for place in places)).isoformat(),
    }
