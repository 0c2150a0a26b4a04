"""A plan's tasks as visits: a crew at a house on a day, for one unbroken block of work."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import groupby, pairwise
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from finishing.models import Crew, House
from scheduling.models import Plan, PlannedTask

CREW_MORE = "crew_more"
"""In a task's details: id and name of a crew that only its scenario has."""
UNBROKEN = timedelta(minutes=30)
"""A shorter pause does not end a block: the crew stays where it is."""


@dataclass(frozen=True)
class Block:
    """Planned tasks of one crew at one house on one day without a longer pause between them.

    From ``starts_at`` to ``ends_at`` the crew is on site: set-up comes before the first task and
    wash-up after the last, where the crew's other blocks leave time for them. crew_more: the id of
    the crew where only a scenario has it; ``crew`` is then the one that it works as.
    """

    crew: Crew
    house: House
    tasks: tuple[PlannedTask, ...]
    starts_at: datetime
    ends_at: datetime
    crew_more: str = ""

    @property
    def crew_id(self) -> str:
        """The id of the crew as the plan's problem has it."""
        return self.crew_more or str(self.crew.public_id)


TASKS_AT_ONCE = 500
"""Of a plan, each with rows of its own until they are shared."""


def plan_blocks(plan: Plan, *, with_details: bool = True) -> list[Block]:
    """Return the plan's blocks by crew name and time, those of crews that only a scenario has last,
    in one query."""
    return blocks_by_plan(plan.company_id, [plan], with_details=with_details)[plan.pk]


def blocks_by_plan(
    company_id: int, plans: Iterable[Plan], *, with_details: bool = True
) -> dict[int, list[Block]]:
    """Return by plan (pk) what ``plan_blocks`` has of it, of all of them in one query.

    A crew, house or area is one object for all of its tasks: one for each of them takes several
    times the memory of the tasks themselves. with_details: of a plan that is no scenario's they,
    most of what there is to read, may be left out.
    """
    found: dict[int, list[PlannedTask]] = {plan.pk: [] for plan in plans}
    rows = PlannedTask.objects.filter(company=company_id, plan__in=found)
    rows = rows.select_related("crew__company", "house", "area")
    rows = rows if with_details else rows.defer("details")
    known: dict[tuple[str, int | None], Any] = {}
    for task in rows.iterator(chunk_size=TASKS_AT_ONCE):
        for name in ("crew", "house", "area"):
            one = known.setdefault((name, getattr(task, f"{name}_id")), getattr(task, name))
            setattr(task, name, one)
        task.crew.company = known.setdefault(("company", task.company_id), task.crew.company)
        found[task.plan_id].append(task)
    return {pk: _of_crews(tasks, with_details=with_details) for pk, tasks in found.items()}


def visit_count(tasks: Iterable[PlannedTask]) -> int:
    """Return how many visits tasks with details come to, as every page counts them: a score counts
    a crew's houses of a day, short ones twice."""
    return len(_of_crews(tasks, with_details=True))


def _of_crews(tasks: Iterable[PlannedTask], *, with_details: bool) -> list[Block]:
    """Return a plan's blocks, a crew that only a scenario has apart from the one it works as."""
    by_crew_more: dict[str, list[PlannedTask]] = {"": []}
    for task in tasks:
        more = task.details.get(CREW_MORE, {}).get("id", "") if with_details else ""
        by_crew_more.setdefault(more, []).append(task)
    return [
        replace(block, crew_more=more)
        for more, of_crew in sorted(by_crew_more.items())
        for block in blocks_of(of_crew)
    ]


def blocks_between(
    plan: Plan,
    first: datetime,
    last: datetime,
    *,
    crews: Iterable[Crew],
    houses: Iterable[House],
    with_details: bool = True,
) -> list[Block]:
    """Return by time the plan's blocks that start before ``last``, and of which something is begun
    or dries after ``first``, in one query.

    crews (with their company), houses: all of the company's, read already. The details of tasks
    are most of what there is to read, and are left out unless asked for.
    """
    rows = PlannedTask.objects.filter(
        Q(starts_at__gte=first) | Q(ready_at__gt=first),
        company=plan.company_id,
        plan=plan,
        starts_at__lt=last,
    )
    crew_of = {crew.pk: crew for crew in crews}
    house_of = {house.pk: house for house in houses}
    tasks = list(rows if with_details else rows.defer("details"))
    for task in tasks:
        task.crew, task.house = crew_of[task.crew_id], house_of[task.house_id]
    return sorted(blocks_of(tasks), key=lambda block: (block.starts_at, block.crew.name))


def blocks_of(tasks: Iterable[PlannedTask]) -> Iterator[Block]:
    """Group tasks into blocks; their crews' companies say how long set-up and wash-up take."""
    ordered = sorted(tasks, key=lambda task: (task.crew.name, task.starts_at, task.ends_at))
    for crew, crew_tasks in groupby(ordered, key=lambda task: task.crew):
        yield from _with_set_up(crew, list(_unbroken(crew_tasks, ZoneInfo(crew.zone))))


def _unbroken(tasks: Iterable[PlannedTask], zone: ZoneInfo) -> Iterator[tuple[PlannedTask, ...]]:
    block: list[PlannedTask] = []
    for task in tasks:
        if block and not _goes_on(block[-1], task, zone):
            yield tuple(block)
            block = []
        block.append(task)
    yield tuple(block)


def _goes_on(last: PlannedTask, task: PlannedTask, zone: ZoneInfo) -> bool:
    return (
        task.house_id == last.house_id
        and task.starts_at - last.ends_at < UNBROKEN
        and task.starts_at.astimezone(zone).date() == last.ends_at.astimezone(zone).date()
    )


def _with_set_up(crew: Crew, groups: list[tuple[PlannedTask, ...]]) -> Iterator[Block]:
    set_up = timedelta(minutes=crew.company.setup_minutes)
    wash_up = timedelta(minutes=crew.company.washup_minutes)
    apart = [
        after[0].starts_at - before[-1].ends_at >= set_up + wash_up
        for before, after in pairwise(groups)
    ]
    for tasks, room_before, room_after in zip(groups, [True, *apart], [*apart, True], strict=True):
        yield Block(
            crew,
            tasks[0].house,
            tasks,
            starts_at=tasks[0].starts_at - (set_up if room_before else timedelta()),
            ends_at=tasks[-1].ends_at + (wash_up if room_after else timedelta()),
        )
