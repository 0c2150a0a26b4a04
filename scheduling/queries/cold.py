"""When houses are too cold for coats, by the air that a plan was made with."""

from datetime import datetime, timedelta

from finishing.models import House
from scheduling.models import Plan

_HOUR = timedelta(hours=1)


def cold_spans(plan: Plan, house: House) -> list[tuple[datetime, datetime]]:
    """Return in order from when to when a house is too cold; none where the plan does not know."""
    if not plan.cold_hours:
        return []
    origin = datetime.fromisoformat(plan.cold_hours["from"])
    runs = plan.cold_hours["houses"].get(str(house.public_id), [])
    return [(origin + first * _HOUR, origin + (first + hours) * _HOUR) for first, hours in runs]
