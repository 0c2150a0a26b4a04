"""A house's rooms as the solver's tasks and waits."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from finishing.models import Area, House, Room
from finishing.rules.vocabulary import DUSTY, Hardening, Skill, Stage
from scheduling.services.curves import CurveBook, warm_starts
from scheduling.services.house_air import HouseAir
from scheduling.services.parts import part_minutes, split_minutes
from scheduling.services.room_waits import (
    StageWait,
    WaterInRoom,
    must_be_dry_before,
    waits_before,
)
from scheduling.services.room_work import RoomStage
from scheduling.services.timeline import Timeline
from scheduling.solver.problem import TICK_MINUTES, Crew, Span, Task, Wait

SKILL_OF: Mapping[Stage, Skill] = {
    Stage.SAND: Skill.SANDING,
    Stage.SKIM: Skill.SKIMMING,
    Stage.SKIM_SAND: Skill.SANDING,
    Stage.CORNICE: Skill.CORNICE,
}
"""Stages that need more than coating."""

AFTER_HANDOVER = frozenset({Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP})


@dataclass(frozen=True)
class DoneStage:
    """A stage of a room that has been worked on, over when ``whole``.

    minutes: person-minutes done. parts: the number of the last part done.
    """

    ended_tick: int
    whole: bool = True
    minutes: int = 0
    parts: int = 1


@dataclass(frozen=True)
class AreaOnSite:
    """An area with what binds its tasks whatever their room."""

    area: Area
    air: HouseAir
    handover: str
    release: Mapping[str, int]
    open: tuple[Span, ...] | None
    done: Mapping[str, DoneStage]


@dataclass
class HouseTasks:
    """Collects tasks and waits; remembers the room stage behind each task key."""

    timeline: Timeline
    book: CurveBook
    crews: tuple[Crew, ...]
    overhead_ticks: int
    tasks: list[Task] = field(default_factory=list)
    waits: list[Wait] = field(default_factory=list)
    stages: dict[str, RoomStage] = field(default_factory=dict)
    parts: dict[str, list[str]] = field(default_factory=dict)

    def add_room(self, site: AreaOnSite, room: Room, stages: list[RoomStage]) -> None:
        """Add what is left to do in a room, its stages in order of doing."""
        water = WaterInRoom(site.area.house, site.air, self.book)
        previous: RoomStage | None = None
        first_task = len(self.tasks)
        for stage in stages:
            waits = waits_before(stage, previous, water)
            if stage.is_coat:
                water.add(stage, after_dry=must_be_dry_before(previous))
            done = site.done.get(stage_key(room, stage.stage))
            if done is None or not done.whole:
                self._add_stage(site, stage, waits, water, done)
            previous = stage
        before_handover = [stage for stage in stages if stage.stage not in AFTER_HANDOVER]
        if before_handover and before_handover[-1].is_coat:
            self._hand_over_dry(first_task, water)

    def _add_stage(
        self,
        site: AreaOnSite,
        stage: RoomStage,
        waits: list[StageWait],
        water: WaterInRoom,
        done: DoneStage | None,
    ) -> None:
        template = self._template(site, stage, self._release(site, stage, waits), water)
        keys = self._add_parts(template, stage, done)
        for wait in waits:
            before = self.parts.get(stage_key(wait.before.room, wait.before.stage))
            if before:
                self.waits.append(Wait(before[-1], keys[0], wait.curve, wait.reason))

    def _release(self, site: AreaOnSite, stage: RoomStage, waits: list[StageWait]) -> int:
        """Return the first tick that the area, and coats already done, leave to a stage."""
        done = [
            (wait, site.done.get(stage_key(wait.before.room, wait.before.stage))) for wait in waits
        ]
        ready = [
            self.book.curves[wait.curve].ready(max(0, stage_done.ended_tick))
            for wait, stage_done in done
            if stage_done and stage_done.whole
        ]
        return max([site.release[stage.stage], *ready])

    def _add_parts(self, template: Task, stage: RoomStage, done: DoneStage | None) -> list[str]:
        most = part_minutes(
            self.crews,
            next(iter(template.skills)),
            overhead_ticks=self.overhead_ticks,
            batch_ticks=template.batch_ticks,
        )
        left = max(1, template.person_minutes - (done.minutes if done else 0))
        first = done.parts + 1 if done else 1
        keys = []
        for number, minutes in enumerate(split_minutes(left, most), start=first):
            key = template.id if number == 1 else f"{template.id}:{number}"
            self.tasks.append(replace(template, id=key, person_minutes=minutes))
            self.stages[key] = stage
            keys.append(key)
        self.parts[template.id] = keys
        return keys

    def _template(
        self, site: AreaOnSite, stage: RoomStage, release: int, water: WaterInRoom
    ) -> Task:
        coat = stage.compound if stage.is_coat else None
        sets = coat is not None and coat.hardening is Hardening.SETS
        wet = water.wet_amount()
        house = site.area.house
        return Task(
            id=stage_key(stage.room, stage.stage),
            house=str(house.public_id),
            room=str(stage.room.public_id),
            person_minutes=stage.person_minutes,
            run=f"{site.area.public_id}:{stage.stage}",
            skills=frozenset({str(SKILL_OF.get(stage.stage, Skill.COATING))}),
            release=release,
            starts=self._warm_starts(stage, site.air, wet),
            open=site.open,
            batch_ticks=-(-coat.working_minutes // TICK_MINUTES) if coat and sets else 0,
            air_space=air_space(site.area),
            dusty=stage.stage in DUSTY,
            wet_curve=self.book.air(house, site.air, wet) if coat else None,
            handover=None if stage.stage in AFTER_HANDOVER else site.handover,
            grade=None if coat is None else int(coat.hard),
        )

    def _warm_starts(self, stage: RoomStage, air: HouseAir, wet: float) -> tuple[Span, ...] | None:
        if not stage.is_coat or stage.compound is None:
            return None
        fewest = min((window.heads for crew in self.crews for window in crew.windows), default=1)
        longest_hours = stage.person_minutes / 60 / fewest
        return warm_starts(stage.compound, air, wet, longest_hours, self.timeline)

    def _hand_over_dry(self, first_task: int, water: WaterInRoom) -> None:
        """Let coats of a room that is not sanded count when they are dry, not when they end."""
        curve_of = {wait.before.stage: wait.curve for wait in water.until_gone()}
        for number in range(first_task, len(self.tasks)):
            task = self.tasks[number]
            curve = curve_of.get(self.stages[task.id].stage)
            if curve and task.handover:
                self.tasks[number] = replace(task, done_curve=curve)


def stage_key(room: Room, stage: Stage) -> str:
    """Return the key of a room's stage; it survives takeoff edits and replans."""
    return f"{room.public_id}:{stage}"


def air_space(area: Area) -> str:
    """Return the air an area shares: its floor's, or its own where no floor is named."""
    return f"{area.house.public_id}:{area.floor or area.public_id}"


def handover_key(house: House, due_on: date) -> str:
    """Return the id of a promise: a house and the day it is due."""
    return f"{house.public_id}:{due_on.isoformat()}"
