"""Moving a visit of the working plan by hand: what would come of it, and pinning it there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import NamedTuple

from django.db import transaction

from finishing.models import Crew, Deed, User
from finishing.services.deeds import note_deed
from scheduling.models import Pin, PlannedTask
from scheduling.queries.pins import pins_of_tasks
from scheduling.queries.planned_visits import PlannedVisit, blocks_to_come
from scheduling.queries.plans import working_plan
from scheduling.services.gives_way import GivesWay, gives_way
from scheduling.services.pin_check import check_pins
from scheduling.services.pin_ground import pin_ground
from scheduling.services.pin_rules import Stuck
from scheduling.services.pins import places_from, put_pins
from scheduling.solver.problem import TICK_MINUTES, Placement, Task
from scheduling.wording import stage_name

TICK = timedelta(minutes=TICK_MINUTES)


class Spot(NamedTuple):
    """A crew and the moment from which it works, set-up not included."""

    crew: Crew
    starts_at: datetime


class Stays(NamedTuple):
    """A piece of a visit that cannot be moved: it has ``begun``, or is ``gone`` from what there is
    to plan (done, or on hold)."""

    piece: PlannedTask
    code: str


class InTheWay(NamedTuple):
    """The rule (``solver/verify.py``) that a piece of a visit would break, starting at ``at``, and
    what the other work is called that it would break it with; "" for none."""

    piece: PlannedTask
    code: str
    at: datetime
    other: str


@dataclass(frozen=True)
class MoveAnswer:
    """What would come of a move.

    ends_at: when the work would be over. stays: why the visit cannot be moved at all. in_the_way:
    of the spot asked for; nearest: the spot nearest to it that would do, if any. gives_way: what
    cannot stay where it is then; told only of a spot that will do. is_frozen: crews have been told
    of the visit, and it is so near that a plan leaves it alone, though a pin does not.
    """

    spot: Spot
    ends_at: datetime | None = None
    stays: tuple[Stays, ...] = ()
    in_the_way: InTheWay | None = None
    nearest: Spot | None = None
    gives_way: Sequence[GivesWay] = ()
    is_frozen: bool = False

    @property
    def holds(self) -> bool:
        return not self.stays and self.in_the_way is None


class MoveRefusedError(Exception):
    """The visit will not do there: nothing was stored."""

    def __init__(self, answer: MoveAnswer) -> None:
        self.answer = answer
        super().__init__("the visit will not do there")


class StaleVisitError(Exception):
    """The plan is another by now, or somebody has pinned the visit since: nothing was stored."""


def check_move(*, visit: PlannedVisit, spot: Spot, now: datetime) -> MoveAnswer:
    """Return what would come of pinning a visit, all of its work as far apart as it is planned."""
    return _Move(visit, spot, now).answer


@transaction.atomic
def pin_visit(
    *, visit: PlannedVisit, spot: Spot, now: datetime, seen: str, user: User | None = None
) -> list[Pin]:
    """Pin all of a visit's work, or none of it.

    seen: what ``pins_seen`` gave when the page was made. Raises MoveRefusedError where it breaks a
    rule, StaleVisitError where the plan or its pins have changed meanwhile.
    """
    if working_plan(visit.company) != visit.plan or pins_seen(visit) != seen:
        raise StaleVisitError
    move = _Move(visit, spot, now)
    if not move.answer.holds:
        raise MoveRefusedError(move.answer)
    note_deed(
        company=visit.company,
        by=user,
        code=Deed.Code.PINNED,
        now=now,
        about=visit.block.house.name,
        crew=spot.crew.name,
        starts_at=spot.starts_at.isoformat(),
    )
    return put_pins(ground=move.ground, places=move.places, crew=spot.crew, now=now, user=user)


def pins_seen(visit: PlannedVisit) -> str:
    """Return what tells the pins of a visit's work from any that are made later."""
    pins = pins_of_tasks(visit.company, visit.keys)
    return max((f"{pin.made_at.isoformat()}/{pin.pk}" for pin in pins), default="")


class _Move:
    """One visit at one spot."""

    def __init__(self, visit: PlannedVisit, spot: Spot, now: datetime) -> None:
        self._visit, self._spot = visit, spot
        house = visit.block.house
        self.ground = pin_ground(company=visit.company, house=house, now=now)
        self.places: list[Placement] = []
        self.answer = self._answer(now)

    def _answer(self, now: datetime) -> MoveAnswer:
        tasks = {task.id: task for task in self.ground.problem.tasks}
        if stays := self._why_it_stays(tasks):
            return MoveAnswer(self._spot, stays=stays)
        work = [tasks[key] for key in self._visit.keys]
        frozen = any(key in self.ground.inputs.work.fixed for key in self._visit.keys)
        self.places = list(places_from(self.ground, work, *self._spot, self._pauses()))
        check = check_pins(self.ground.problem, self.places, self.ground.pinned)
        ends_at = self._instant(self.places[-1].end)
        if check.stuck:
            return MoveAnswer(
                self._spot,
                ends_at,
                in_the_way=self._in_the_way(check.stuck),
                nearest=self._spot_of(check.nearest[0]) if check.nearest else None,
                is_frozen=frozen,
            )
        blocks = blocks_to_come(self._visit.plan, now)
        pushed = gives_way(self.ground, blocks, self.places)
        return MoveAnswer(self._spot, ends_at, gives_way=pushed, is_frozen=frozen)

    def _why_it_stays(self, tasks: dict[str, Task]) -> tuple[Stays, ...]:
        """Return the pieces of the visit that cannot be moved."""
        now, found = self.ground.problem.now, []
        for row in self._visit.block.tasks:
            task = tasks.get(row.key)
            if task is None:
                found.append(Stays(row, "gone"))
            elif task.fixed and task.fixed.start < now:
                found.append(Stays(row, "begun"))
        return tuple(found)

    def _pauses(self) -> list[int]:
        rows = self._visit.block.tasks
        return [
            max(0, (after.starts_at - before.ends_at) // TICK) for before, after in pairwise(rows)
        ]

    def _in_the_way(self, stuck: Stuck) -> InTheWay:
        broken, mine = stuck.broken[0], stuck.place.task
        other = broken.other if broken.task == mine else broken.task
        piece = next(row for row in self._visit.block.tasks if row.key == mine)
        at = self._instant(stuck.place.start)
        return InTheWay(piece, broken.code, at, self._called(other))

    def _called(self, key: str) -> str:
        """Return what a task is called, with its house where that is another; "" for no task."""
        stage, job = self.ground.inputs.stages.get(key), self.ground.inputs.odd_jobs.get(key)
        if stage:
            return f"{stage_name(stage.stage)}, {stage.room.name}"
        if job:
            return job.name
        row = self.ground.elsewhere.get(key)
        return f"{stage_name(row.stage)}, {row.house.name}" if row else ""

    def _spot_of(self, place: Placement) -> Spot:
        return Spot(self.ground.inputs.crews[place.crew], self._instant(place.start))

    def _instant(self, tick: int) -> datetime:
        return self.ground.inputs.timeline.instant(tick)
