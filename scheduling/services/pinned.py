"""Pinned tasks in a problem: each fixed where the office wants it, as long as that can be."""

from bisect import bisect_right
from collections.abc import Collection, Iterable
from dataclasses import replace

from scheduling.models import Pin
from scheduling.services.timeline import Timeline
from scheduling.solver.problem import Crew, Placement, Task, task_ticks


def pinned_in_place(
    tasks: Iterable[Task],
    pins: Iterable[Pin],
    crews: Iterable[Crew],
    timeline: Timeline,
    begun: Collection[str],
) -> list[Task]:
    """Return tasks with the pinned ones fixed, save those that have begun."""
    by_key = {pin.key: pin for pin in pins if pin.key not in begun}
    known = {crew.id: crew for crew in crews}
    return [
        replace(
            task,
            fixed=place_of(
                task,
                known.get(str(pin.crew.public_id), Crew(str(pin.crew.public_id), ())),
                timeline.tick_after(pin.starts_at),
            ),
        )
        if (pin := by_key.get(task.id))
        else task
        for task in tasks
    ]


def place_of(task: Task, crew: Crew, start: int) -> Placement:
    """Return a task's place with a crew from a tick on, allowed or not: as long as the crew takes
    with the heads it has then."""
    number = bisect_right([window.start for window in crew.windows], start) - 1
    heads = crew.windows[number].heads if number >= 0 else 1
    able = task.minutes_by_crew is None or crew.id in task.minutes_by_crew
    length = task_ticks(task, crew.id, heads) if able else 1
    return Placement(task.id, crew.id, start, start + length)
