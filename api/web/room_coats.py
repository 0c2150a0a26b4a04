"""How the coats of a room dry: a chart, what it says in words, and the same in figures."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.coat_charts import DrawnCoat, coat_chart
from api.web.time_charts import Period, Words
from finishing.rules.vocabulary import Stage
from scheduling.services.coat_curves import SHARES, CoatCurve
from scheduling.services.house_curves import RoomDrying
from scheduling.wording import governs_name, moment, stage_name


@dataclass(frozen=True)
class CoatWords:
    """A coat in a line or two; ``early``: what comes next is planned before it is ready."""

    number: int
    said: str
    following: str
    early: bool


@dataclass(frozen=True)
class RoomChart:
    """A room's chart as markup, and its coats in words."""

    room: str
    chart: str
    coats: list[CoatWords]


@dataclass(frozen=True)
class CoatFigures:
    """A coat's moments on the house's clock, "" where there is none; at_share: as in SHARES."""

    room: str
    ended: str
    at_share: list[str]
    least: str
    ready: str
    following: str


@dataclass(frozen=True)
class StageFigures:
    """A stage with the coats of an area's rooms."""

    stage: str
    coats: list[CoatFigures]


def moments_of(rooms: Sequence[RoomDrying]) -> Iterator[datetime]:
    """Yield what a chart of rooms' coats should show."""
    for room in rooms:
        for coat in room.coats:
            told = (coat.ended_at, coat.dryness[-1][0], coat.ready_at, coat.next_at)
            yield from (at for at in told if at)


def room_chart(drying: RoomDrying, period: Period) -> RoomChart:
    """Return the chart of a room with a coat at least."""
    name = drying.room
    coats = [_words(n, coat, period.zone) for n, coat in enumerate(drying.coats, 1)]
    words = Words(
        name=f"coats-{drying.room_id}",
        title=_("How the coats of %(room)s dry") % {"room": name},
        description=" ".join(f"{coat.number}: {coat.said} {coat.following}" for coat in coats),
    )
    drawn = [
        DrawnCoat(number, coat.dryness, coat.least_at, coat.ready_at, coat.next_at)
        for number, coat in enumerate(drying.coats, 1)
    ]
    return RoomChart(name, coat_chart(words, period, drawn), coats)


def stage_figures(rooms: Sequence[RoomDrying], zone: ZoneInfo) -> list[StageFigures]:
    """Return the coats of rooms by stage, in order of doing."""
    there = {coat.stage for room in rooms for coat in room.coats}
    return [
        StageFigures(
            stage_name(stage),
            [
                _figures(room.room, coat, zone)
                for room in rooms
                for coat in room.coats
                if coat.stage == stage
            ],
        )
        for stage in Stage
        if stage in there
    ]


def _words(number: int, coat: CoatCurve, zone: ZoneInfo) -> CoatWords:
    return CoatWords(
        number,
        f"{stage_name(coat.stage)}, {_ready(coat, zone)}.",
        _following(coat, zone),
        early=bool(coat.next_at and (coat.ready_at is None or coat.next_at < coat.ready_at)),
    )


def _ready(coat: CoatCurve, zone: ZoneInfo) -> str:
    if at := _ready_at(coat, zone):
        return _("ready %(at)s") % {"at": at}
    return _("not ready in the weeks looked at")


def _ready_at(coat: CoatCurve, zone: ZoneInfo) -> str:
    if coat.ready_at is None:
        return ""
    return f"{moment(coat.ready_at, zone)} {governs_name(coat.governs, coat.air)}"


def _following(coat: CoatCurve, zone: ZoneInfo) -> str:
    if coat.next_at is None:
        return ""
    values = {"stage": stage_name(coat.following), "moment": moment(coat.next_at, zone)}
    if coat.ready_at is None or coat.next_at < coat.ready_at:
        return _("%(stage)s is planned before that: %(moment)s.") % values
    return _("%(stage)s: %(moment)s.") % values


def _figures(room: str, coat: CoatCurve, zone: ZoneInfo) -> CoatFigures:
    return CoatFigures(
        room=room,
        ended=moment(coat.ended_at, zone),
        at_share=[_moment(coat.at_share.get(share), zone) for share in SHARES],
        least=_moment(coat.least_at, zone),
        ready=_ready_at(coat, zone),
        following=_following(coat, zone),
    )


def _moment(instant: datetime | None, zone: ZoneInfo) -> str:
    return moment(instant, zone) if instant else ""
