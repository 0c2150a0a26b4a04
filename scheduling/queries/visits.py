"""A plan's tasks as visits: a crew at a house on a day, for one unbroken block of work."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from finishing.models import Crew, House
from scheduling.models import Plan, PlannedTask

UNBROKEN = timedelta(minutes=30)
"""A shorter pause does not end a block: the crew stays where it is."""


@dataclass(frozen=True)
class Block:
    """Planned tasks of one crew at one house on one day without a longer pause between them."""

    crew: Crew
    house: House
    tasks: tuple[PlannedTask, ...]

    @property
    def starts_at(self) -> datetime:
        """The first task's start: work begins; set-up comes before it."""
        return self.tasks[0].starts_at

    @property
    def ends_at(self) -> datetime:
        return self.tasks[-1].ends_at


def plan_blocks(plan: Plan) -> list[Block]:
    """Return the plan's blocks by crew name and time, in a fixed number of queries."""
    rows = PlannedTask.objects.filter(company=plan.company_id, plan=plan)
    return list(blocks_of(rows.select_related("crew", "house", "area")))


def blocks_of(tasks: Iterable[PlannedTask]) -> Iterator[Block]:
    """Group tasks into blocks."""
    ordered = sorted(tasks, key=lambda task: (task.crew.name, task.starts_at, task.ends_at))
    for crew, crew_tasks in groupby(ordered, key=lambda task: task.crew):
        block: list[PlannedTask] = []
        for task in crew_tasks:
            if block and not _goes_on(block[-1], task, ZoneInfo(crew.zone)):
                yield Block(crew, block[0].house, tuple(block))
                block = []
            block.append(task)
        yield Block(crew, block[0].house, tuple(block))


def _goes_on(last: PlannedTask, task: PlannedTask, zone: ZoneInfo) -> bool:
    return (
        task.house_id == last.house_id
        and task.starts_at - last.ends_at < UNBROKEN
        and task.starts_at.astimezone(zone).date() == last.ends_at.astimezone(zone).date()
    )
