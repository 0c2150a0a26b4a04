"""The pins to come with what they are of, and which of them the last run had to set aside."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from finishing.models import Company, OddJob, Room
from finishing.rules.readiness import ODD_JOB
from scheduling.models import Pin
from scheduling.queries.pins import pins_to_come
from scheduling.queries.runs import last_done_run
from scheduling.wording import stage_name


@dataclass(frozen=True)
class NamedPin:
    """A pin, its house and its work in words; "" for work that is no more. aside: where the last
    run had to set it aside, its row of ``PlanRun.freed``."""

    pin: Pin
    house: str
    work: str
    aside: Mapping[str, Any] | None = None


def named_pins(*, company: Company, now: datetime) -> list[NamedPin]:
    """Return the pins to come by time, in a fixed number of queries."""
    return name_pins(company=company, pins=list(pins_to_come(company, now)))


def name_pins(*, company: Company, pins: Sequence[Pin]) -> list[NamedPin]:
    """Return pins of a company with what they are of, in a fixed number of queries."""
    names = _names(company, [pin.key for pin in pins]) if pins else {}
    run = last_done_run(company) if pins else None
    aside = {key: row for row in (run.freed if run else []) for key in row["tasks"]}
    found = []
    for pin in pins:
        house, work = names.get(pin.key, ("", ""))
        is_known = run is not None and pin.made_at <= run.plan_from
        found.append(NamedPin(pin, house, work, aside.get(pin.key) if is_known else None))
    return found


def _names(company: Company, keys: Iterable[str]) -> dict[str, tuple[str, str]]:
    """Return by task key the names of its house and of its work."""
    parts = {key: key.split(":") for key in keys}
    jobs_asked = {key: part[0] for key, part in parts.items() if part[1] == ODD_JOB}
    jobs = OddJob.objects.filter(company=company, public_id__in=set(jobs_asked.values()))
    job_of = {str(job.public_id): job for job in jobs.select_related("house")}
    rooms_asked = {part[0] for key, part in parts.items() if key not in jobs_asked}
    rooms = Room.objects.filter(company=company, public_id__in=rooms_asked)
    room_of = {str(room.public_id): room for room in rooms.select_related("area__house")}
    names = {}
    for key, (name, stage, *_) in parts.items():
        if job := job_of.get(name):
            names[key] = (job.house.name, job.name)
        elif room := room_of.get(name):
            names[key] = (room.area.house.name, f"{stage_name(stage)}, {room.name}")
    return names
