"""What a visit says, frozen at publication: codes and values, read by ``visit_wording``."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from scheduling.models import PlannedTask, Visit
from scheduling.queries.visits import Block

_FROZEN: Mapping[str, Any] = {
    "room": "",
    "area": "",
    "job": "",
    "part": [1, 1],
    "person_minutes": 0,
    "compound": "",
    "hardening": "",
    "working_minutes": 0,
    "tape": "",
    "work": [],
    "area_m2": None,
    "material": {},
    "tools": [],
    "cautions": [],
    "leaves": {},
    "waits_on": {},
}
"""The details that a crew reads, with what stands for those a task does not have (an odd job has
no compound); the rest of a task stays with its plan."""


def freeze_content(block: Block, details: Mapping[int, Mapping[str, Any]]) -> dict[str, Any]:
    """Return a block's content; details: those of its tasks, by their key in the database. The
    crew's name is in titles of calendars that several crews share, and those are followed by the
    visit's stamp alone."""
    house = block.house
    return {
        "crew": block.crew.name,
        "house": {
            "name": house.name,
            "address": house.address,
            "latitude": house.latitude,
            "longitude": house.longitude,
        },
        "setup_minutes": block.crew.company.setup_minutes,
        "washup_minutes": block.crew.company.washup_minutes,
        "tasks": [_freeze_task(task, details[task.pk]) for task in block.tasks],
    }


def told_crew(visit: Visit) -> str:
    """Return the crew's name as of the publication; visits told earlier than it was kept have that
    of now."""
    return str(visit.content.get("crew", visit.crew.name))


def task_minutes(block: Block) -> dict[str, int]:
    """Return how long the block works at each task key."""
    return {
        task.key: round((task.ends_at - task.starts_at).total_seconds() / 60)
        for task in block.tasks
    }


def _freeze_task(task: PlannedTask, details: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "key": task.key,
        "stage": task.stage,
        "starts_at": _text(task.starts_at),
        "ends_at": _text(task.ends_at),
        "ready_at": _text(task.ready_at),
        **{name: details.get(name, absent) for name, absent in _FROZEN.items()},
        **({"dryers": moves} if (moves := details.get("dryers")) else {}),
    }


def _text(instant: datetime | None) -> str | None:
    return None if instant is None else instant.astimezone(UTC).isoformat()
