"""What a crew says of the work of one of its visits, turned into reports of each task."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import groupby, islice

from django.utils.translation import gettext

from finishing.queries.houses import houses_for_planning
from finishing.services.errors import Fault, InputFaults
from scheduling.models import Report, SentReport, Visit
from scheduling.queries.reports import said_of
from scheduling.services.named_work import RoomWork, find_keyed_work
from scheduling.services.reported import last_of_work, stage_key_of
from scheduling.services.reports import Statement, report_work
from scheduling.services.sent_reports import Action, Sent, once

Kind = Report.Kind
RECHECK = "recheck"
"""A wait until somebody looks again says nothing of how a coat dries."""
NO_ENDS: Mapping[str, datetime] = {}
type Left = Mapping[str, int | None]
"""By task key what is left: minutes of the crew's working time, None for all of it."""


def say_started(sent: Sent) -> SentReport:
    """Note that the visit's first task that is still to do was begun; nothing where the crew has
    said of one that it is at it."""

    def write() -> None:
        last = _last_kinds(sent)
        if not {Kind.STARTED, Kind.LEFT} & set(last.values()):
            to_do = ((key, part) for key, part in _parts(sent).items() if last[key] != Kind.DONE)
            for key, part in islice(to_do, 1):
                _report(sent, [key], Statement(Kind.STARTED, sent.at, part=part))

    return once(sent, Action.STARTED, {}, write)


def say_finished(sent: Sent, left: Left, people: int | None = None) -> SentReport:
    """Note that the crew is done with the visit but for what is left of some tasks. people: how
    many were there, where the crew says so."""
    said: dict[str, object] = {"left": {key: left[key] for key in sorted(left)}}
    if people is not None:
        said["people"] = people
    return once(sent, Action.FINISHED, said, lambda: _end(sent, _parts(sent), left, _ends(sent)))


def say_not_dry(sent: Sent, keys: Sequence[str], again_in: timedelta | None) -> SentReport:
    """Note that the coats under these tasks of the visit were found not dry, or not set."""
    again_at = sent.at + again_in if again_in else None
    said = {
        "under": sorted(keys),
        "again_in_minutes": again_in // timedelta(minutes=1) if again_in else None,
    }

    def write() -> None:
        report_work(
            company=sent.crew.company,
            crew=sent.crew,
            work=[_coat_under(work) for work in _work(sent, keys)],
            said=Statement(Kind.NOT_DRY, sent.at, again_at=again_at),
            now=sent.now,
            waited=_predictions(sent.visit),
        )

    return once(sent, Action.NOT_DRY, said, write)


def call_off(sent: Sent) -> None:
    """Note that what is not done of the visit will not be done where it is published."""
    last = _last_kinds(sent)
    to_do = [key for key in _parts(sent) if last[key] != Kind.DONE]
    _end(sent, to_do, dict.fromkeys(to_do))


def _ends(sent: Sent) -> dict[str, datetime]:
    """Return when each task of a visit that is over ended at the latest.

    Crews say so of the whole visit, once they have washed up. They do its work in its order, so
    that one that is late is with each task at most as late as in all; what it has said of a task
    before, was before its end.
    """
    visit, said = sent.visit, said_of(sent.crew.company, _parts(sent))
    begun = SentReport.objects.filter(visit=visit, action=Action.STARTED, at__lte=sent.at)
    starts = begun.order_by("at").values_list("at", flat=True)[:1]
    late = max([timedelta(0), sent.at - visit.ends_at, *(at - visit.starts_at for at in starts)])
    ends = {}
    for task in visit.content["tasks"]:
        key, last = task["key"], last_of_work(said.get(task["key"], {}))
        end = datetime.fromisoformat(task["ends_at"]) + late
        ends[key] = min(sent.at, max(end, last.at) if last else end)
    return ends


def _end(
    sent: Sent, keys: Iterable[str], left: Left, ends: Mapping[str, datetime] = NO_ENDS
) -> None:
    """Report tasks in the visit's order, so that a coat is done before the one over it."""
    parts = _parts(sent)

    def how_it_ended(key: str) -> Statement:
        if key not in left:
            return Statement(Kind.DONE, sent.at, part=parts[key], ended_by=ends)
        return Statement(Kind.NOT_DONE, sent.at, left[key], part=parts[key], called_off=True)

    for said, grouped in groupby(keys, key=how_it_ended):
        _report(sent, list(grouped), said)


def _report(sent: Sent, keys: Sequence[str], said: Statement) -> None:
    report_work(
        company=sent.crew.company,
        crew=sent.crew,
        work=_work(sent, keys),
        said=said,
        now=sent.now,
    )


def _predictions(visit: Visit) -> dict[str, dict[str, str]]:
    """Return by coat (stage key) when the visit has it ready, and where: the next plan forgets."""
    house = str(visit.house.public_id)
    return {
        stage_key_of(on["other"]): {"ready_at": on["ready_at"], "house": house}
        for task in visit.content["tasks"]
        if (on := task["waits_on"]) and on["reason"] != RECHECK
    }


def _coat_under(work: RoomWork) -> RoomWork:
    """Return the work that left the coat which this one goes over."""
    number = work.stages.index(work.stage) if work.stage else 0
    for stage in reversed(work.stages[:number]):
        if stage.hardens:
            return RoomWork(stage.key, work.name, stage, work.area, work.stages)
    said = gettext("there is no coat under this work")
    raise InputFaults([Fault(work.name, said)])


def _work(sent: Sent, keys: Sequence[str]) -> list[RoomWork]:
    house = houses_for_planning(sent.crew.company).filter(pk=sent.visit.house_id).first()
    if house is None:
        raise InputFaults([Fault("house", gettext("The office has closed this house."))])
    return find_keyed_work(house=house, keys=keys)


def _last_kinds(sent: Sent) -> dict[str, str]:
    """Return by task key the kind of what was said last of it, "" for nothing."""
    said = said_of(sent.crew.company, _parts(sent))
    last = {key: last_of_work(said.get(key, {})) for key in _parts(sent)}
    return {key: report.kind if report else "" for key, report in last.items()}


def _parts(sent: Sent) -> dict[str, int | None]:
    """Return the visit's task keys in order, each with which part of a long room it is, if any."""
    parts = {task["key"]: task["part"] for task in sent.visit.content["tasks"]}
    return {key: number if of > 1 else None for key, (number, of) in parts.items()}
