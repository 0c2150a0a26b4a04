"""What is behind the plan: work done, work under way, and published work too near to move."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Area, CoatDone, Company, Room
from finishing.rules.vocabulary import Stage
from scheduling.models import Visit
from scheduling.services.house_tasks import DoneStage, stage_key
from scheduling.services.timeline import Timeline, local_instant
from scheduling.solver.problem import Placement, Task

ORDER = tuple(Stage)


@dataclass(frozen=True)
class PublishedTask:
    """A task as a crew's visit has it: ``number`` of ``parts`` of its room's stage."""

    key: str
    starts_at: datetime
    ends_at: datetime
    minutes: int
    number: int
    parts: int


@dataclass
class DoneWork:
    """Published tasks by where they stand at the moment of planning.

    A past visit without a report counts as done as planned. ``started``: keys under way, which
    stay whatever happens. ``frozen``: keys inside the company's freeze, which stay if they can.
    """

    timeline: Timeline
    done: dict[str, PublishedTask] = field(default_factory=dict)
    started: dict[str, Placement] = field(default_factory=dict)
    frozen: dict[str, Placement] = field(default_factory=dict)

    def is_done(self, key: str) -> bool:
        return key in self.done

    def stages_of(self, area: Area, rooms: Iterable[Room]) -> dict[str, DoneStage]:
        """Return the stages of an area's rooms that are done or partly done, by stage key."""
        known = {}
        before_us: CoatDone | None = getattr(area, "coat_done", None)
        for room in rooms:
            for stage in ORDER:
                key = stage_key(room, stage)
                done = self._from_visits(key) or self._as_entered(before_us, stage)
                if done:
                    known[key] = done
        return known

    def kept_in_place(self, tasks: Iterable[Task]) -> list[Task]:
        """Return tasks with those under way or frozen fixed where they are published."""
        kept = {**self.frozen, **self.started}
        return [replace(task, fixed=kept[task.id]) if task.id in kept else task for task in tasks]

    def _from_visits(self, key: str) -> DoneStage | None:
        rows = [row for name, row in self.done.items() if name == key or name.startswith(f"{key}:")]
        if not rows:
            return None
        last = max(rows, key=lambda row: row.number)
        return DoneStage(
            ended_tick=self.timeline.tick_after(last.ends_at),
            whole=last.number == last.parts,
            minutes=sum(row.minutes for row in rows),
            parts=last.number,
        )

    def _as_entered(self, before_us: CoatDone | None, stage: Stage) -> DoneStage | None:
        """Take the stages before the one entered as ended with it: the careful reading, since
        any of them may have been a setting coat that was coated over wet on the same day."""
        if before_us is None or ORDER.index(stage) > ORDER.index(Stage(before_us.stage)):
            return None
        return DoneStage(self.timeline.tick_after(before_us.ended_at))


def done_work(company: Company, now: datetime, timeline: Timeline) -> DoneWork:
    """Sort published work by where it stands at ``now``, whichever revision it came from."""
    work = DoneWork(timeline)
    visits = Visit.objects.filter(company=company, cancelled_at=None).select_related("crew")
    for visit in visits:
        freeze_ends = _freeze_ends(company, now, visit.crew.zone)
        for row in visit.content["tasks"]:
            task = _published(row)
            if task.ends_at <= now:
                work.done[task.key] = task
            elif task.starts_at <= now:
                work.started[task.key] = _placement(visit, task, timeline)
            elif task.starts_at < freeze_ends:
                work.frozen[task.key] = _placement(visit, task, timeline)
    return work


def _published(row: dict[str, Any]) -> PublishedTask:
    number, parts = row["part"]
    return PublishedTask(
        key=row["key"],
        starts_at=datetime.fromisoformat(row["starts_at"]),
        ends_at=datetime.fromisoformat(row["ends_at"]),
        minutes=row["person_minutes"],
        number=number,
        parts=parts,
    )


def _freeze_ends(company: Company, now: datetime, zone_name: str) -> datetime:
    """Return the local midnight that ends the freeze; of two days, today is the first."""
    zone = ZoneInfo(zone_name)
    first_free_day = now.astimezone(zone).date() + timedelta(days=company.freeze_days)
    return local_instant(first_free_day, time.min, zone)


def _placement(visit: Visit, task: PublishedTask, timeline: Timeline) -> Placement:
    return Placement(
        task.key,
        str(visit.crew.public_id),
        timeline.tick_before(task.starts_at),
        timeline.tick_after(task.ends_at),
    )
