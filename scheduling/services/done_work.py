"""What is behind the plan: work done, work under way, and published work too near to move."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from finishing.models import Area, CoatDone, Company, Room
from finishing.rules.vocabulary import Compound, Stage
from scheduling.models import Visit
from scheduling.services.room_work import ORDER, compound_rule
from scheduling.services.timeline import Timeline, local_instant
from scheduling.solver.problem import Placement, Task


@dataclass(frozen=True)
class DoneStage:
    """A stage of a room that has been worked on, over when ``whole``.

    minutes: person-minutes done. parts: the number of the last part done. compound: what was
    used, where that is on record.
    """

    ended_tick: int
    whole: bool = True
    minutes: int = 0
    parts: int = 1
    compound: Compound | None = None


@dataclass(frozen=True)
class PublishedTask:
    """A task as a crew's visit has it: ``number`` of ``parts`` of its room's stage."""

    key: str
    starts_at: datetime
    ends_at: datetime
    minutes: int
    number: int
    parts: int
    compound: str

    @property
    def stage_key(self) -> str:
        """The key of the room's stage, without the part."""
        return ":".join(self.key.split(":")[:2])


type ByStage = dict[str, list[PublishedTask]]


@dataclass
class DoneWork:
    """Published tasks by where they stand at the moment of planning.

    A past visit without a report counts as done as planned. ``started``: tasks under way, which
    stay whatever happens. ``fixed``: where they, and the tasks inside the company's freeze, are.
    """

    timeline: Timeline
    compounds: Mapping[str, Compound]
    done: ByStage = field(default_factory=lambda: defaultdict(list))
    started: ByStage = field(default_factory=lambda: defaultdict(list))
    fixed: dict[str, Placement] = field(default_factory=dict)

    def is_done(self, key: str) -> bool:
        return key in self.done

    def stages_of(self, area: Area, rooms: Iterable[Room]) -> dict[str, DoneStage]:
        """Return the stages of an area's rooms that are done or partly done, by stage key."""
        entered: CoatDone | None = getattr(area, "coat_done", None)
        known = {}
        for room in rooms:
            for stage in ORDER:
                key = f"{room.public_id}:{stage}"
                done = self._as_entered(entered, stage) or self._from_visits(key)
                if done:
                    known[key] = done
        return known

    def kept_in_place(self, tasks: Iterable[Task]) -> list[Task]:
        """Return tasks with those under way or frozen fixed where they are published."""
        return [
            replace(task, fixed=self.fixed[task.id]) if task.id in self.fixed else task
            for task in tasks
        ]

    def _from_visits(self, key: str) -> DoneStage | None:
        rows = self.done.get(key)
        if not rows:
            return None
        last = max(rows, key=lambda row: row.number)
        return DoneStage(
            ended_tick=self.timeline.tick_after(last.ends_at),
            whole=last.number == last.parts,
            minutes=sum(row.minutes for row in rows),
            parts=last.number,
            compound=self.compounds.get(last.compound),
        )

    def _as_entered(self, entered: CoatDone | None, stage: Stage) -> DoneStage | None:
        """Take the stages before the one entered as ended with it: the careful reading, since
        any of them may have been a setting coat that was coated over wet on the same day."""
        if entered is None or ORDER.index(stage) > ORDER.index(Stage(entered.stage)):
            return None
        used = entered.compound if stage == entered.stage else None
        return DoneStage(
            self.timeline.tick_after(entered.ended_at),
            compound=compound_rule(used) if used else None,
        )


def done_work(
    company: Company, now: datetime, timeline: Timeline, compounds: Mapping[str, Compound]
) -> DoneWork:
    """Sort published work by where it stands at ``now``, whichever revision it came from."""
    work = DoneWork(timeline, compounds)
    visits = Visit.objects.filter(company=company, cancelled_at=None).select_related("crew")
    for visit in visits:
        freeze_ends = _freeze_ends(company, now, visit.crew.zone)
        for row in visit.content["tasks"]:
            task = _published(row)
            if task.ends_at <= now:
                work.done[task.stage_key].append(task)
                continue
            if task.starts_at <= now:
                work.started[task.stage_key].append(task)
            if task.starts_at <= now or task.starts_at < freeze_ends:
                work.fixed[task.key] = _placement(visit, task, timeline)
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
        compound=row["compound"],
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
