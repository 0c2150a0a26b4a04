"""Which rooms must not be touched before when, by the coats of published visits."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from scheduling.visit_wording import room_name
from scheduling.wording import Codes, listed, moment, stage_name


class _Coat(NamedTuple):
    area: str
    stage: str
    hardening: str


def keep_off_lines(tasks: Iterable[Codes], after: datetime, zone: ZoneInfo) -> list[str]:
    """Say of each area's coats that are not ready at a moment when they are planned to be: the
    last of its rooms counts. tasks: those of ``Visit.content``."""
    wet: dict[_Coat, list[Codes]] = {}
    for task in tasks:
        if task["ready_at"] and datetime.fromisoformat(task["ready_at"]) > after:
            coat = _Coat(task["area"], task["stage"], task["hardening"])
            wet.setdefault(coat, []).append(task)
    return [_line(coat, rows, zone) for coat, rows in wet.items()]


def _line(coat: _Coat, tasks: list[Codes], zone: ZoneInfo) -> str:
    rooms = listed([room_name(task) for task in tasks])
    ready = max(datetime.fromisoformat(task["ready_at"]) for task in tasks)
    said = (
        gettext("%(place)s: not before %(moment)s (%(stage)s, planned set then)")
        if coat.hardening == "sets"
        else gettext("%(place)s: not before %(moment)s (%(stage)s, planned dry then)")
    )
    place = f"{coat.area} ({rooms})" if rooms else coat.area
    return said % {"place": place, "moment": moment(ready, zone), "stage": stage_name(coat.stage)}
