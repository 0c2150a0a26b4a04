"""A house's rooms as the solver's tasks and waits."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import NamedTuple

from finishing.models import Area, House
from finishing.rules.ensemble import Limits
from finishing.rules.vocabulary import DUSTY, Hardening, RoomKind, Skill, Stage
from scheduling.services.curves import CurveBook, limits_of, warm_starts
from scheduling.services.done_work import LEAST_REST_MINUTES, DoneStage
from scheduling.services.house_air import HouseAir
from scheduling.services.laid_coats import coat_amount
from scheduling.services.parts import part_minutes, split_minutes
from scheduling.services.reported import PublishedTask
from scheduling.services.room_waits import (
    StageWait,
    WaterInRoom,
    hardening_wait,
    must_be_dry_before,
    waits_before,
)
from scheduling.services.room_work import AFTER_HANDOVER, RoomStage
from scheduling.services.timeline import Timeline
from scheduling.solver.problem import (
    TICK_MINUTES,
    Crew,
    Span,
    Task,
    Wait,
    duration_ticks,
)

SKILL_OF: Mapping[Stage, Skill] = {
    Stage.SAND: Skill.SANDING,
    Stage.SKIM: Skill.SKIMMING,
    Stage.SKIM_SAND: Skill.SANDING,
    Stage.CORNICE: Skill.CORNICE,
}
"""Stages that need more than coating."""


@dataclass(frozen=True)
class AreaOnSite:
    """An area with what binds its tasks whatever their room."""

    area: Area
    air: HouseAir
    handover: str
    release: Mapping[str, int]
    open: tuple[Span, ...] | None
    done: Mapping[str, DoneStage]
    started: Mapping[str, list[PublishedTask]]
    open_parts: Mapping[str, list[PublishedTask]]
    rechecks: Mapping[str, int]


class DoneWait(NamedTuple):
    """A wait on a coat that is done: the tick at which it lets go, the coat's key, the reason,
    and the tick at which the coat ended."""

    ready: int
    before: str
    reason: str
    ended: int


@dataclass
class HouseTasks:
    """Collects tasks and waits; remembers by task key the room stage behind it, and what a coat
    asks of the air's temperature; by stage key what a stage waits for, done or not."""

    timeline: Timeline
    book: CurveBook
    crews: tuple[Crew, ...]
    overhead_ticks: int
    tasks: list[Task] = field(default_factory=list)
    waits: list[Wait] = field(default_factory=list)
    stage_waits: dict[str, list[StageWait]] = field(default_factory=dict)
    stages: dict[str, RoomStage] = field(default_factory=dict)
    parts: dict[str, list[str]] = field(default_factory=dict)
    wet_until: dict[str, int] = field(default_factory=dict)
    done_waits: dict[str, DoneWait] = field(default_factory=dict)
    limits: dict[str, Limits] = field(default_factory=dict)

    def add_room(self, site: AreaOnSite, stages: list[RoomStage]) -> None:
        """Add what is left to do in a room, its stages in order of doing."""
        water = WaterInRoom(site.area.house, site.air, self.book)
        previous: RoomStage | None = None
        first_task = len(self.tasks)
        for stage in stages:
            waits = self.stage_waits[stage.key] = waits_before(stage, previous, water)
            if stage.is_coat:
                water.add(stage, after_dry=must_be_dry_before(previous))
            done = site.done.get(stage.key)
            if done and stage.is_coat:
                self._note_wet(site, water, stage.key, done)
            if done is None or not done.whole:
                self._add_stage(site, stage, waits, water, done)
            previous = stage
        self._hand_over_dry(first_task, stages, water)

    def tasks_beside_done_coats(self) -> list[Task]:
        """Return all tasks, the dusty ones released only when coats already done in their air
        are dry."""
        return [
            replace(task, release=max(task.release, self.wet_until.get(task.air_space or "", 0)))
            if task.dusty
            else task
            for task in self.tasks
        ]

    def _note_wet(self, site: AreaOnSite, water: WaterInRoom, coat: str, done: DoneStage) -> None:
        curve = self.book.air(site.area.house, site.air, water.wet_amount(), coat)
        look = site.rechecks.get(coat, 0)
        dry = self.book.curves[curve].ready(max(0, done.ended_tick))
        space = air_space(site.area)
        self.wet_until[space] = max(dry, look, self.wet_until.get(space, 0))

    def _add_stage(
        self,
        site: AreaOnSite,
        stage: RoomStage,
        waits: list[StageWait],
        water: WaterInRoom,
        done: DoneStage | None,
    ) -> None:
        template = self._template(site, stage, self._release(site, stage, waits), water)
        keys = self._add_parts(site, template, stage, water.wet_amount(), done)
        if keys and (over := self._waits_on_done(site, waits)):
            self.done_waits[keys[0]] = over[-1]
        for wait in waits:
            before = self.parts.get(wait.before.key)
            if before and keys:
                self.waits.append(Wait(before[-1], keys[0], wait.curve, wait.reason))

    def _release(self, site: AreaOnSite, stage: RoomStage, waits: list[StageWait]) -> int:
        """Return the first tick that the area, and coats already done, leave to a stage."""
        ready = [over.ready for over in self._waits_on_done(site, waits)]
        return max([site.release[stage.stage], *ready])

    def _waits_on_done(self, site: AreaOnSite, waits: list[StageWait]) -> list[DoneWait]:
        """Return the waits on coats already done, the one that lets go last at the end; one that
        was found wet holds at least until somebody has looked again."""
        found = []
        for wait in waits:
            before = wait.before.key
            if done := site.done.get(before):
                ready = self.book.curves[wait.curve].ready(max(0, done.ended_tick))
                found.append(DoneWait(ready, before, wait.reason, done.ended_tick))
                if (look := site.rechecks.get(before, 0)) > ready:
                    found.append(DoneWait(look, before, "recheck", done.ended_tick))
        return sorted(found)

    def _add_parts(
        self,
        site: AreaOnSite,
        template: Task,
        stage: RoomStage,
        wet: float,
        done: DoneStage | None,
    ) -> list[str]:
        """Add the parts under way, as long as they were published, and the rest: in the parts
        that crews have been told of where these are all of it and still fit, else in new ones."""
        under_way = sorted(site.started.get(template.id, []), key=lambda task: task.number)
        minutes = {task.key: task.minutes for task in under_way}
        behind = (done.minutes if done else 0) + sum(minutes.values())
        left = template.person_minutes - behind
        if told := self._as_told(site, template, left):
            minutes.update(told)
        elif left >= LEAST_REST_MINUTES or not behind:
            number = max([done.parts if done else 0, *(task.number for task in under_way)])
            for part in split_minutes(max(1, left), self._most(template)):
                number += 1
                minutes[template.id if number == 1 else f"{template.id}:{number}"] = part
        for key, part in minutes.items():
            starts = None
            if limits := self._limits(stage, wet, part):
                self.limits[key] = limits
                starts = warm_starts(limits, site.air, stage.key, self.timeline)
            self.tasks.append(replace(template, id=key, person_minutes=part, starts=starts))
            self.stages[key] = stage
        if minutes:
            self.parts[template.id] = list(minutes)
        return list(minutes)

    def _as_told(self, site: AreaOnSite, template: Task, left: int) -> dict[str, int]:
        told = sorted(site.open_parts.get(template.id, []), key=lambda task: task.number)
        most = self._most(template)
        fit = all(0 < task.minutes <= most or self._stands(task) for task in told)
        kept = {task.key: task.minutes for task in told}
        return kept if fit and sum(kept.values()) == left else {}

    def _stands(self, task: PublishedTask) -> bool:
        """Return whether a task still takes its crew as long as it has been told."""
        start = self.timeline.tick_after(task.starts_at)
        end = self.timeline.tick_after(task.ends_at)
        return any(
            window.start <= start
            and end <= window.end
            and duration_ticks(task.minutes, window.heads) == end - start
            for crew in self.crews
            if crew.id == task.crew
            for window in crew.windows
        )

    def _most(self, template: Task) -> int:
        return part_minutes(
            self.crews,
            next(iter(template.skills)),
            overhead_ticks=self.overhead_ticks,
            batch_ticks=template.batch_ticks,
        )

    def _template(
        self, site: AreaOnSite, stage: RoomStage, release: int, water: WaterInRoom
    ) -> Task:
        compound = stage.compound if stage.hardens else None
        sets = compound is not None and compound.hardening is Hardening.SETS
        house = site.area.house
        return Task(
            id=stage.key,
            house=str(house.public_id),
            room=str(stage.room.public_id),
            person_minutes=stage.person_minutes,
            run=f"{site.area.public_id}:{stage.stage}",
            skills=frozenset({str(SKILL_OF.get(stage.stage, Skill.COATING))}),
            release=release,
            open=site.open,
            batch_ticks=-(-compound.working_minutes // TICK_MINUTES) if compound and sets else 0,
            air_space=air_space(site.area),
            dusty=stage.stage in DUSTY | AFTER_HANDOVER,
            wet_curve=self._wet_curve(site, stage, water) if stage.is_coat else None,
            grade=int(compound.hard) if compound and stage.is_coat else None,
            alone=stage.room.kind == RoomKind.STAIRWELL and stage.stage != Stage.INSPECT,
            handover=None if stage.stage in AFTER_HANDOVER else site.handover,
        )

    def _wet_curve(self, site: AreaOnSite, stage: RoomStage, water: WaterInRoom) -> str:
        return self.book.air(site.area.house, site.air, water.wet_amount(), stage.key)

    def _limits(self, stage: RoomStage, wet: float, minutes: int) -> Limits | None:
        if not stage.hardens or stage.compound is None:
            return None
        fewest = min((window.heads for crew in self.crews for window in crew.windows), default=1)
        amount = wet if stage.is_coat else coat_amount(stage)
        return limits_of(stage.compound, amount, minutes / 60 / fewest)

    def _hand_over_dry(self, first_task: int, stages: list[RoomStage], water: WaterInRoom) -> None:
        """Let what nothing is done to any more count when it is dry, or set, not when it ends."""
        last = next((s for s in reversed(stages) if s.stage not in AFTER_HANDOVER), None)
        if last is None or not last.hardens:
            return
        waits = water.until_gone() if last.is_coat else [hardening_wait(last, water)]
        curve_of = {wait.before.stage: wait.curve for wait in waits}
        for number in range(first_task, len(self.tasks)):
            task = self.tasks[number]
            curve = curve_of.get(self.stages[task.id].stage)
            if curve and task.handover:
                self.tasks[number] = replace(task, done_curve=curve)


def air_space(area: Area) -> str:
    """Return the air an area shares: its floor's, or its own where no floor is named."""
    return f"{area.house.public_id}:{area.floor or area.public_id}"


def handover_key(house: House, due_on: date) -> str:
    """Return the id of a promise: a house and the day it is due."""
    return f"{house.public_id}:{due_on.isoformat()}"
