"""A visit as the week page shows it: hours, coats by area, when each is dry."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from uuid import UUID
from zoneinfo import ZoneInfo

from api.web.moments import hour_text, local
from finishing.models import House
from scheduling.material_wording import late_words
from scheduling.models import PlannedTask
from scheduling.queries.planned_visits import visit_id
from scheduling.queries.visits import Block
from scheduling.services.material_orders import LateVisit
from scheduling.wording import listed, ready_sentence, stage_name


@dataclass(frozen=True)
class CoatLine:
    """One stage in one area: its rooms in the order of work, and when the last one is ready."""

    stage: str
    area: str
    rooms: str
    ready: str


@dataclass(frozen=True)
class VisitCard:
    """A crew's unbroken block of work at a house, on the crew's clock.

    pinned: to what it is pinned, "" where it is not. move_id: the id by which it can be moved,
    None where it cannot be. late: of what material is not there on its day, "" for none.
    """

    house: House
    tint: int
    starts_at: datetime
    ends_at: datetime
    coats: tuple[CoatLine, ...]
    held_back: bool
    pinned: str = ""
    move_id: UUID | None = None
    late: str = ""

    @property
    def starts_hour(self) -> str:
        return hour_text(self.starts_at)

    @property
    def ends_hour(self) -> str:
        return hour_text(self.ends_at)


def visit_card(
    block: Block,
    *,
    held_back: bool = False,
    pinned: str = "",
    can_move: bool = False,
    late: LateVisit | None = None,
) -> VisitCard:
    """Return a block of planned work as the page shows it.

    held_back: whether its plan is published, and it is not, because its house is not ready.
    """
    zone = block.crew.zone
    return VisitCard(
        house=block.house,
        tint=house_tint(block.house),
        starts_at=local(block.starts_at, zone),
        ends_at=local(block.ends_at, zone),
        coats=tuple(_coat_lines(block, zone)),
        held_back=held_back,
        pinned=pinned,
        move_id=visit_id(block) if can_move else None,
        late=late_words(late) if late else "",
    )


def house_tint(house: House) -> int:
    """Return which of the style sheet's eight colours and patterns marks a house."""
    return house.pk % 8


def _coat_lines(block: Block, zone: str) -> Iterator[CoatLine]:
    for (stage, area), tasks in groupby(block.tasks, key=_stage_and_area):
        group = list(tasks)
        rooms = listed([room_or_job(task) for task in group])
        yield CoatLine(stage_name(stage), area, rooms, _ready(group, zone))


def _stage_and_area(task: PlannedTask) -> tuple[str, str]:
    return task.stage, task.details.get("area", "")


def room_or_job(task: PlannedTask) -> str:
    """Return the room a coat is for, or the name of an odd job."""
    return str(task.details.get("room") or task.details.get("job", ""))


def _ready(tasks: list[PlannedTask], zone: str) -> str:
    """Say when the last of the rooms is ready: the area is not before."""
    waiting = [(task.ready_at, task) for task in tasks if task.ready_at is not None]
    if not waiting:
        return ""
    ready_at, task = max(waiting, key=lambda pair: pair[0])
    return ready_sentence(ready_at, task.details, ZoneInfo(zone))
