"""A visit as its crew reads it on a phone, with what it can say of it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from api.web.crew_forms import FORMS, TapForm
from api.web.crew_material import CrewMaterial
from api.web.crew_said import said_line, task_name
from api.web.moments import hour_text
from finishing.models import Crew
from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import Stage
from scheduling.cautions_wording import defer_text
from scheduling.dryer_wording import move_lines
from scheduling.keep_off_wording import keep_off_lines
from scheduling.material_wording import mix_caution
from scheduling.measures import Measures
from scheduling.models import SentReport, Visit
from scheduling.visit_wording import (
    bring_lines,
    caution_texts,
    room_lines,
    wait_lines,
    work_blocks,
    work_hours,
)
from scheduling.wording import Codes, listed, stage_name

COVERS_NOTHING = (ODD_JOB, Stage.PREFILL)
"""Work under which there is no coat that could be wet."""


@dataclass(frozen=True)
class Choice:
    """A task to choose: its key and what it is called."""

    key: str
    name: str


@dataclass(frozen=True)
class Work:
    """A coat or job in an area: how wide, and room by room."""

    heading: str
    widths: str
    rooms: Sequence[str]


@dataclass(frozen=True)
class CrewVisit:
    """All that is shown of a visit. position: "latitude,longitude", "" where it is not known.

    keep_off: rooms not to be touched and until when. forms: by action, none where it is too early
    to say anything. faults: of the form that was sent last and did not go through.
    """

    visit: Visit
    hours: str
    title: str
    address: str
    position: str
    work: Sequence[Work]
    work_hours: str
    bring: Sequence[str]
    load: Sequence[str]
    mixing: Sequence[str]
    keep_off: Sequence[str]
    waits: Sequence[str]
    cautions: Sequence[str]
    said: Sequence[str]
    tasks: Sequence[Choice]
    over_coats: Sequence[Choice]
    forms: Mapping[str, TapForm]


def crew_visit(
    crew: Crew,
    visit: Visit,
    others: Sequence[Visit],
    said: Sequence[SentReport],
    *,
    sent: TapForm | None = None,
    may_report: bool = True,
    material: CrewMaterial | None = None,
) -> CrewVisit:
    """Return a visit. others: all published visits at its house. said: what its crew has said of
    it. sent: the form that did not go through, if it was one of this visit's. material: what the
    crew's visits take."""
    zone, measures = ZoneInfo(crew.zone), Measures(crew.reads_imperial)
    tasks, house = visit.content["tasks"], visit.content["house"]
    mixing = material.mixing_of(visit) if material else []
    placed = house["latitude"] is not None and house["longitude"] is not None
    return CrewVisit(
        visit=visit,
        hours=_hours(visit, zone),
        title=listed([task["job"] or stage_name(task["stage"]) for task in tasks]),
        address=house["address"],
        position=f"{house['latitude']},{house['longitude']}" if placed else "",
        work=_work(tasks, measures),
        work_hours=work_hours(tasks),
        bring=[*bring_lines(tasks, measures), *_dryer_lines(tasks)],
        load=material.load_of(visit) if material else [],
        mixing=[*mixing, mix_caution()] if mixing else [],
        keep_off=_keep_off(visit, others, zone),
        waits=wait_lines(tasks, zone),
        cautions=_cautions(tasks, but=[mix_caution()] if mixing else []),
        said=[said_line(report, visit, zone) for report in said],
        tasks=[Choice(task["key"], task_name(task)) for task in tasks],
        over_coats=[
            Choice(task["key"], task_name(task))
            for task in tasks
            if task["stage"] not in COVERS_NOTHING
        ],
        forms=_forms(tasks, sent) if may_report else {},
    )


def _work(tasks: Sequence[Codes], measures: Measures) -> list[Work]:
    return [
        Work(
            block.heading,
            block.widths,
            [line for task in block.tasks for line in room_lines(task, measures)],
        )
        for block in work_blocks(tasks, measures)
    ]


def _cautions(tasks: Sequence[Codes], *, but: Collection[str]) -> list[str]:
    """Return the cautions of the work. but: those that stand beside what they are about."""
    texts = caution_texts(tasks)
    return [*(text for text in texts if text not in but), defer_text()] if texts else []


def _forms(tasks: Sequence[Codes], sent: TapForm | None) -> dict[str, TapForm]:
    forms = {action: form(tasks) for action, form in FORMS.items()}
    return forms | ({sent.action: sent} if sent else {})


def _hours(visit: Visit, zone: ZoneInfo) -> str:
    start, end = (moment.astimezone(zone) for moment in (visit.starts_at, visit.ends_at))
    return f"{hour_text(start)}\N{EN DASH}{hour_text(end)}"


def _dryer_lines(tasks: Sequence[Codes]) -> list[str]:
    return [line for task in tasks for line in move_lines(task.get("dryers", ()))]


def _keep_off(visit: Visit, others: Sequence[Visit], zone: ZoneInfo) -> list[str]:
    """Say what is wet while the crew is there, by work that is over by then, and which of its own
    coats are wet when it leaves."""
    before = [task for other in others if other.pk != visit.pk for task in _over(other, visit)]
    return [
        *keep_off_lines(before, visit.starts_at, zone),
        *keep_off_lines(visit.content["tasks"], visit.ends_at, zone),
    ]


def _over(other: Visit, visit: Visit) -> list[Codes]:
    return [
        task
        for task in other.content["tasks"]
        if datetime.fromisoformat(task["ends_at"]) <= visit.ends_at
    ]
