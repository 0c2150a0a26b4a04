"""What is behind the plan: work done, work under way, and published work too near to move."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from finishing.models import Area, CoatDone, Company, Room
from finishing.queries.compounds import compound_rule
from finishing.rules.vocabulary import Compound, Stage
from scheduling.models import Visit
from scheduling.queries.reports import said_by
from scheduling.services.reported import PublishedTask, Reported, State, published_task
from scheduling.services.room_work import ORDER
from scheduling.services.timeline import Timeline, local_instant
from scheduling.services.working_hours import WorkingHours
from scheduling.solver.problem import Crew, Placement, Task

ALL = Q()
LEAST_REST_MINUTES = 15
"""What a changed takeoff leaves of a stage that is otherwise done or under way, and is too little
to come back for: person-minutes."""


@dataclass(frozen=True)
class DoneStage:
    """A stage of a room that has been worked on, over when ``whole``.

    minutes: person-minutes done. parts: the number of the last part done. compound: what was
    used, where that is on record. rest_left: whether a crew left some of a part.
    """

    ended_tick: int
    whole: bool = True
    minutes: int = 0
    parts: int = 1
    compound: Compound | None = None
    rest_left: bool = False

    def against(self, minutes: int) -> "DoneStage":
        """Return the stage as it stands, ``minutes`` being all the work there is in it: what was
        left of a part is still to do where no later part made up for it."""
        short = self.rest_left and minutes - self.minutes >= LEAST_REST_MINUTES
        return replace(self, whole=False) if short else self


type ByStage = dict[str, list[PublishedTask]]


@dataclass
class DoneWork:
    """Published tasks by where they stand at the moment of planning.

    A past visit without a report counts as done as planned. ``started``: tasks under way, which
    stay whatever happens. ``fixed``: where they, and the tasks inside the company's freeze, are.
    ``open_parts``: tasks that are still to be begun, those left undone among them.
    ``rechecks``: by coat (stage key) the tick before which nothing goes over it, as it was found
    wet. ``unreported``: tasks taken as done of which nobody has said so.
    ``to_come``: where all published tasks are that have not ended, those among them.
    """

    timeline: Timeline
    compounds: Mapping[str, Compound]
    done: ByStage = field(default_factory=lambda: defaultdict(list))
    started: ByStage = field(default_factory=lambda: defaultdict(list))
    open_parts: ByStage = field(default_factory=lambda: defaultdict(list))
    fixed: dict[str, Placement] = field(default_factory=dict)
    rechecks: dict[str, int] = field(default_factory=dict)
    unreported: list[PublishedTask] = field(default_factory=list)
    to_come: dict[str, Placement] = field(default_factory=dict)

    def is_done(self, key: str) -> bool:
        return key in self.done

    def add_done(self, task: PublishedTask) -> None:
        self.done[task.stage_key].append(task)
        if not task.said:
            self.unreported.append(task)

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
            ended_tick=self.timeline.tick_after(max(row.ends_at for row in rows)),
            whole=last.number == last.parts and key not in {*self.started, *self.open_parts},
            minutes=sum(row.minutes for row in rows),
            parts=last.number,
            compound=self.compounds.get(last.compound),
            rest_left=any(row.rest_left for row in rows),
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
    *,
    company: Company,
    now: datetime,
    timeline: Timeline,
    crews: Iterable[Crew],
    compounds: Mapping[str, Compound],
    zones: Mapping[str, str],
    among: Q,
) -> DoneWork:
    """Sort published work by where it stands at ``now``, whichever revision it came from.

    zones: of all crews, by id. among: of which visits.
    """
    work = DoneWork(timeline, compounds)
    recheck = timedelta(hours=company.recheck_hours)
    reported = Reported(said_by(company, now), now, WorkingHours(crews, timeline), recheck)
    freeze_ends = {crew: _freeze_ends(company, now, zone) for crew, zone in zones.items()}
    published = published_tasks(company, among)
    for given in published.values():
        state, task = reported.standing(given)
        if state is State.DONE:
            work.add_done(task)
        elif state is State.UNDER_WAY:
            work.started[task.stage_key].append(task)
            work.fixed[task.key] = work.to_come[task.key] = _placement(task, timeline)
        elif state is State.TO_COME:
            work.to_come[task.key] = _placement(task, timeline)
            work.open_parts[task.stage_key].append(task)
            if task.starts_at < freeze_ends[task.crew]:
                work.fixed[task.key] = work.to_come[task.key]
        else:
            work.open_parts[task.stage_key].append(task)
    for task in reported.done_outside_visits(published):
        work.add_done(task)
    work.rechecks = {
        coat: timeline.tick_after(look.again_at) for coat, look in reported.looks.items()
    }
    return work


def published_tasks(company: Company, among: Q = ALL) -> dict[str, PublishedTask]:
    """Return by key the tasks that crews have been given; of one that was left undone and given
    again, the later. among: of which visits."""
    visits = Visit.objects.filter(among, company=company, cancelled_at=None).select_related("crew")
    tasks: dict[str, PublishedTask] = {}
    for visit in visits.order_by("starts_at", "id"):
        for row in visit.content["tasks"]:
            task = published_task(row, str(visit.crew.public_id))
            known = tasks.get(task.key)
            if known is None or known.starts_at <= task.starts_at:
                tasks[task.key] = task
    return tasks


def _freeze_ends(company: Company, now: datetime, zone_name: str) -> datetime:
    """Return the local midnight that ends the freeze; of two days, today is the first."""
    zone = ZoneInfo(zone_name)
    first_free_day = now.astimezone(zone).date() + timedelta(days=company.freeze_days)
    return local_instant(first_free_day, time.min, zone)


def _placement(task: PublishedTask, timeline: Timeline) -> Placement:
    return Placement(
        task.key,
        task.crew,
        timeline.tick_before(task.starts_at),
        timeline.tick_after(task.ends_at),
    )
