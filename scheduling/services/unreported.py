"""Published work of which no crew has said what became of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from finishing.models import Company
from scheduling.models import Visit
from scheduling.services.inputs import done_so_far


@dataclass(frozen=True)
class Silent:
    """Tasks of one past visit that count as done as planned, as in ``Visit.content``."""

    visit: Visit
    tasks: tuple[dict[str, Any], ...]


def unreported_work(*, company: Company, now: datetime) -> Iterator[Silent]:
    """Yield past visits with tasks nobody has reported, the latest last."""
    keys = {task.key for task in done_so_far(company=company, now=now).unreported}
    visits = Visit.objects.filter(company=company, cancelled_at=None, starts_at__lte=now)
    for visit in visits.select_related("crew", "house"):
        tasks = tuple(row for row in visit.content["tasks"] if row["key"] in keys)
        if tasks:
            yield Silent(visit, tasks)
