"""What a published task has come to, by what crews say of it."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import Enum, auto
from typing import Any, NamedTuple

from finishing.rules.vocabulary import Stage
from scheduling.models import Report
from scheduling.queries.reports import Said
from scheduling.services.room_work import ORDER
from scheduling.services.working_hours import WorkingHours

OF_WORK = (Report.Kind.STARTED, Report.Kind.LEFT, Report.Kind.DONE, Report.Kind.NOT_DONE)
"""Kinds that say how far a task is; of these, what was so last counts."""


class Look(NamedTuple):
    """A coat found wet, and the earliest that it may be dry."""

    found_at: datetime
    again_at: datetime


class State(Enum):
    """Where a published task stands."""

    TO_COME = auto()
    UNDER_WAY = auto()
    DONE = auto()
    NOT_DONE = auto()
    """It was to have begun, but has not: it is still to do."""


@dataclass(frozen=True)
class PublishedTask:
    """A task as a crew's visit has it: ``number`` of ``parts`` of its room's stage.

    said: whether its crew has said that it is done. rest_left: whether it said that it left some.
    """

    key: str
    crew: str
    starts_at: datetime
    ends_at: datetime
    minutes: int
    number: int
    parts: int
    compound: str
    said: bool = False
    rest_left: bool = False

    @property
    def stage_key(self) -> str:
        """The key of the room's stage, without the part."""
        return stage_key_of(self.key)


def stage_key_of(key: str) -> str:
    """Return the key of a room's stage, given that of a part of it."""
    return ":".join(key.split(":")[:2])


def published_task(row: Mapping[str, Any], crew: str) -> PublishedTask:
    """Read a task of ``Visit.content``."""
    number, parts = row["part"]
    return PublishedTask(
        key=row["key"],
        crew=crew,
        starts_at=datetime.fromisoformat(row["starts_at"]),
        ends_at=datetime.fromisoformat(row["ends_at"]),
        minutes=row["person_minutes"],
        number=number,
        parts=parts,
        compound=row["compound"],
    )


def visit_row(task: PublishedTask) -> dict[str, Any]:
    """Return what ``published_task`` reads of a task."""
    return {
        "key": task.key,
        "starts_at": task.starts_at.isoformat(),
        "ends_at": task.ends_at.isoformat(),
        "person_minutes": task.minutes,
        "part": [task.number, task.parts],
        "compound": task.compound,
    }


def last_of_work(said: Said) -> Report | None:
    """Return how far a task is by what was so last; of one moment, by what was said last."""
    reports = [said[kind] for kind in OF_WORK if kind in said]
    return max(reports, key=lambda report: (report.at, report.said_at, report.pk), default=None)


def looks_of(said: Mapping[str, Said], recheck: timedelta) -> dict[str, Look]:
    """Return by coat (stage key) where it was found wet last. recheck: from then to the next look,
    where its crew did not say when."""
    return {
        key: Look(report.at, report.again_at or report.at + recheck)
        for key, reports in said.items()
        if (report := reports.get(Report.Kind.NOT_DRY))
    }


def was_kept_off(
    key: str, starts_at: datetime, begun: Report | None, *, looks: Mapping[str, Look], now: datetime
) -> bool:
    """Return whether a coat under a task was found wet, so that it cannot have begun as planned:
    nothing goes over that coat before the next look. (One that is yet to begin is still to come,
    and the next look moves it.)"""
    room, stage = stage_key_of(key).split(":")
    under = ORDER[: ORDER.index(Stage(stage))] if stage in ORDER else ()
    found = [look for coat in under if (look := looks.get(f"{room}:{coat}"))]
    if begun:
        return any(begun.at < look.found_at for look in found)
    return starts_at <= now and any(starts_at < look.again_at for look in found)


class Reported:
    """Tells where published tasks stand at a moment, and which coats wait for another look."""

    def __init__(
        self, said: Mapping[str, Said], now: datetime, hours: WorkingHours, recheck: timedelta
    ) -> None:
        self._said = said
        self._now = now
        self._hours = hours
        self.looks = looks_of(said, recheck)

    def standing(self, task: PublishedTask) -> tuple[State, PublishedTask]:
        """Return where a task stands, and the task with its true times and crew."""
        last = last_of_work(self._said.get(task.key, {}))
        kind = last.kind if last else ""
        if last and kind == Report.Kind.DONE:
            return State.DONE, done_task(last, task)
        if last and kind == Report.Kind.NOT_DONE and _is_of(last, task):
            return self._left_undone(task, last)
        begun = last if kind in (Report.Kind.STARTED, Report.Kind.LEFT) else None
        if was_kept_off(task.key, task.starts_at, begun, looks=self.looks, now=self._now):
            return State.NOT_DONE, task
        if begun:
            task = self._going_on(task, begun)
        if task.ends_at <= self._now:
            return State.DONE, task
        return (State.UNDER_WAY if task.starts_at <= self._now else State.TO_COME), task

    def done_outside_visits(self, keys: Collection[str]) -> Iterator[PublishedTask]:
        """Yield what was reported done of tasks that are in no visit (any more)."""
        for key, reports in self._said.items():
            last = last_of_work(reports)
            if key not in keys and last and last.kind == Report.Kind.DONE:
                yield done_task(last)

    def _left_undone(self, task: PublishedTask, last: Report) -> tuple[State, PublishedTask]:
        """A crew that says how much it left has done the rest of the task."""
        planned = self._hours.between(task.crew, task.starts_at, task.ends_at)
        left = timedelta(minutes=last.minutes_left) if last.minutes_left is not None else planned
        if left >= planned:
            return State.NOT_DONE, task
        minutes = round(task.minutes * (1 - left / planned))
        parts = max(task.parts, task.number + 1)
        starts_at = min(task.starts_at, last.at)
        done = replace(
            task, starts_at=starts_at, ends_at=last.at, minutes=minutes, parts=parts, said=True
        )
        return State.DONE, replace(done, rest_left=True)

    def _going_on(self, task: PublishedTask, last: Report) -> PublishedTask:
        """A task in progress ends when its crew says, else as long after its start as planned."""
        crew = str(last.crew.public_id)
        if last.kind == Report.Kind.LEFT:
            starts_at, work = last.at, timedelta(minutes=last.minutes_left or 0)
        else:
            starts_at = last.at
            work = self._hours.between(task.crew, task.starts_at, task.ends_at)
        ends_at = self._hours.end_of(crew, starts_at, work)
        return replace(
            task,
            crew=crew,
            starts_at=self._begun_at(task, last),
            ends_at=ends_at,
            said=last.kind == Report.Kind.LEFT and not last.minutes_left,
        )

    def _begun_at(self, task: PublishedTask, last: Report) -> datetime:
        """Return when a task in progress was begun, as far as its crew has said."""
        reports = self._said[task.key]
        started, left = reports.get(Report.Kind.STARTED), reports.get(Report.Kind.NOT_DONE)
        if started and not (left and started.at <= left.at):
            return min(started.at, last.at)
        return min(task.starts_at, last.at)


def _is_of(report: Report, task: PublishedTask) -> bool:
    """Return whether a report is of a task where it is published now: of work that was to begin
    before it, or that was called off where it is still published."""
    if task.starts_at <= report.at:
        return True
    begins = report.about.get("starts_at")
    return begins is not None and datetime.fromisoformat(begins) == task.starts_at


def done_task(report: Report, task: PublishedTask | None = None) -> PublishedTask:
    """Return a task as its crew says it ended. One that no visit knows is the whole stage."""
    crew = str(report.crew.public_id)
    if task is None and report.about:
        task = published_task(report.about, crew)
    if task is None:
        return PublishedTask(report.key, crew, report.at, report.at, 0, 1, 1, "", said=True)
    ended = report.about.get("ended_at")
    at = datetime.fromisoformat(ended) if ended else report.at
    return replace(task, crew=crew, starts_at=min(task.starts_at, at), ends_at=at, said=True)
