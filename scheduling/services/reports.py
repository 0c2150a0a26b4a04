"""Writing what crews say about their work."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Company, Crew, User
from finishing.services.errors import Fault, InputFaults
from scheduling.models import Report
from scheduling.services.done_work import DoneStage, DoneWork, published_tasks
from scheduling.services.inputs import done_so_far
from scheduling.services.looks import ask_to_look
from scheduling.services.named_work import RoomWork
from scheduling.services.reported import PublishedTask, visit_row
from scheduling.services.room_work import stage_key
from scheduling.wording import stage_name

Kind = Report.Kind
NOTHING: Mapping[str, Mapping[str, str]] = {}


@dataclass(frozen=True)
class Statement:
    """What is said, of any work: see ``Report``. part: which part of a long room, None for all.

    called_off: of ``not_done``, whether also work that was yet to begin will not be done where it
    is published. ended_by: of ``done``, by task key when that ended at the latest; ``at`` where it
    is not there.
    """

    kind: str
    at: datetime
    minutes_left: int | None = None
    again_at: datetime | None = None
    part: int | None = None
    called_off: bool = False
    ended_by: Mapping[str, datetime] = field(default_factory=dict)


@transaction.atomic
def report_work(
    *,
    company: Company,
    crew: Crew,
    work: Sequence[RoomWork],
    said: Statement,
    now: datetime,
    user: User | None = None,
    waited: Mapping[str, Mapping[str, str]] = NOTHING,
) -> list[Report]:
    """Store what a crew says of each piece of work; raise InputFaults with all that cannot be so.

    waited: of coats found not dry, what was predicted, to be kept with the report.

    Work that is in no published visit can be reported done or not dry, no more.
    """
    if said.at > now:
        to_come = _("%(moment)s UTC is still to come") % {"moment": f"{said.at:%Y-%m-%d %H:%M}"}
        raise InputFaults([Fault("time", to_come)])
    reporting = _Reporting(done_so_far(company=company, now=now), published_tasks(company), said)
    reports = [
        Report(
            company=company,
            crew=crew,
            user=user,
            kind=said.kind,
            key=task.key if task else piece.key,
            at=said.at,
            said_at=now,
            minutes_left=said.minutes_left,
            again_at=said.again_at,
            about=_about(task, said) if task else dict(waited.get(piece.key, {})),
        )
        for piece in work
        for task in reporting.of(piece)
    ]
    faults = [*reporting.faults, *_row_faults(reports)]
    if faults:
        raise InputFaults(faults)
    for report in reports:
        report.save()
    ask_to_look(company_id=company.pk)
    return reports


def _about(task: PublishedTask, said: Statement) -> dict[str, object]:
    ended = said.ended_by.get(task.key)
    return {**visit_row(task), **({"ended_at": ended.isoformat()} if ended else {})}


def _row_faults(reports: Sequence[Report]) -> Iterator[Fault]:
    """Yield what is wrong with the rows, once: what is said is the same of all of them."""
    for report in reports[:1]:
        try:
            report.full_clean()
        except ValidationError as error:
            for field, texts in error.message_dict.items():
                yield from (Fault(field, text) for text in texts)


class _Reporting:
    """Finds the published tasks that are meant, and what cannot be so."""

    def __init__(
        self, done: DoneWork, published: dict[str, PublishedTask], said: Statement
    ) -> None:
        self.done = done
        self.said = said
        self.published = published
        self.faults: list[Fault] = []

    def of(self, piece: RoomWork) -> list[PublishedTask | None]:
        """Return the tasks a report is about; None for work that is in no visit."""
        if self.said.kind == Kind.NOT_DRY:
            self._check_coat(piece)
            return [None]
        tasks = sorted(
            (task for task in self.published.values() if task.stage_key == piece.key),
            key=lambda task: task.number,
        )
        meant = [task for task in tasks if self.said.part in (None, task.number)]
        if self.said.kind == Kind.DONE:
            self._check_done(piece, tasks, meant)
            return [*meant] or [None]
        self._check_in_visit(piece, meant)
        return [*meant]

    def _check_coat(self, piece: RoomWork) -> None:
        if piece.stage is None or not piece.stage.hardens:
            self._fault(piece, _("leaves nothing that has to dry or set"))
            return
        over = self._done_stage(piece, piece.key)
        if over is None or over.ended_tick > self.done.timeline.tick_after(self.said.at):
            self._fault(piece, _("was not done by then, so it cannot have been found wet"))

    def _check_done(
        self, piece: RoomWork, tasks: list[PublishedTask], meant: list[PublishedTask]
    ) -> None:
        if self.said.part is not None and not meant:
            parts = {"n": max(1, len(tasks))}
            self._fault(piece, _("is in %(n)s parts as published") % parts)
        if before := piece.before:
            over = self._done_stage(piece, stage_key(before.room, before.stage))
            if over is None or not over.whole:
                said = _("comes after %(stage)s, which is not done: report it first")
                self._fault(piece, said % {"stage": stage_name(before.stage)})

    def _check_in_visit(self, piece: RoomWork, meant: list[PublishedTask]) -> None:
        if not meant:
            self._fault(piece, _("is in no published visit: report it once it is done"))
        elif len(meant) > 1 and self.said.kind != Kind.NOT_DONE:
            self._fault(piece, _("is in %(n)s parts: say which") % {"n": len(meant)})
        elif self._is_too_early(meant[0]):
            self._fault(piece, _("was not to begin before then, and is still planned"))

    def _is_too_early(self, task: PublishedTask) -> bool:
        if self.said.kind != Kind.NOT_DONE or self.said.called_off:
            return False
        return task.starts_at > self.said.at

    def _done_stage(self, piece: RoomWork, key: str) -> DoneStage | None:
        assert piece.area, "only a room's stage has stages before it"
        rooms = [row for row in piece.area.rooms.all() if key.startswith(str(row.public_id))]
        return self.done.stages_of(piece.area, rooms).get(key)

    def _fault(self, piece: RoomWork, text: str) -> None:
        self.faults.append(Fault(piece.name, text))
