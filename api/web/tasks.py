"""Planned tasks of a house by stage: when, who, when ready, and why not earlier."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.formats import date_format

from api.web.moments import hour_text
from api.web.visits import room_or_job
from finishing.rules.vocabulary import Stage
from scheduling.cautions_wording import caution_text, defer_text
from scheduling.dryer_wording import move_lines
from scheduling.models import PlannedTask
from scheduling.wording import ready_sentence, stage_name, why_sentence

STAGE_ORDER = {stage.value: number for number, stage in enumerate(Stage)}


@dataclass(frozen=True)
class TaskLine:
    """One room's stage, on the house's clock. move_id: the id by which its visit can be moved, None
    where it has begun."""

    room: str
    crew: str
    starts_at: datetime
    ends_at: datetime
    ready: str
    why: str
    moves: list[str]
    move_id: UUID | None

    @property
    def starts_text(self) -> str:
        return date_format(self.starts_at, "D j M H:i")

    @property
    def ends_text(self) -> str:
        return hour_text(self.ends_at)


@dataclass(frozen=True)
class StageGroup:
    """A stage's tasks in an area, in the order in which they are done."""

    name: str
    lines: list[TaskLine]


def stage_groups(tasks: Sequence[PlannedTask], zone: str, now: datetime) -> list[StageGroup]:
    """Return tasks by stage in the trade's order, on a zone's clock."""
    stages = sorted({task.stage for task in tasks}, key=_rank)
    return [
        StageGroup(
            stage_name(stage),
            [_line(task, ZoneInfo(zone), now) for task in tasks if task.stage == stage],
        )
        for stage in stages
    ]


def caution_texts(tasks: Iterable[PlannedTask]) -> list[str]:
    """Return the cautions of all tasks, each once, and who decides; none where none applies."""
    codes = [code for task in tasks for code in task.details.get("cautions", [])]
    return [*map(caution_text, dict.fromkeys(codes)), defer_text()] if codes else []


def _rank(stage: str) -> tuple[int, str]:
    return STAGE_ORDER.get(stage, len(STAGE_ORDER)), stage


def _line(task: PlannedTask, zone: ZoneInfo, now: datetime) -> TaskLine:
    return TaskLine(
        room=room_or_job(task),
        crew=task.crew.name,
        starts_at=task.starts_at.astimezone(zone),
        ends_at=task.ends_at.astimezone(zone),
        ready=ready_sentence(task.ready_at, task.details, zone),
        why=why_sentence(task.details.get("why"), zone),
        moves=move_lines(task.details.get("dryers", ())),
        move_id=task.public_id if task.starts_at > now else None,
    )
