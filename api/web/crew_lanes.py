"""A crew's blocks of work as the lanes of its drawing: one for each house it is at."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _

from api.web.charts import text_width
from api.web.crew_drawing import LEFT, Lane, LaneVisit
from api.web.day_columns import DayColumns
from api.web.moments import Clock
from api.web.plan_drawing import Span
from api.web.shown_pins import ShownPins
from api.web.visits import house_tint
from finishing.models import Crew, House
from scheduling.models import Plan
from scheduling.move_wording import why_it_stays
from scheduling.queries.cold import cold_spans
from scheduling.queries.planned_visits import visit_id
from scheduling.queries.visits import Block
from scheduling.services.material_orders import LateVisit
from scheduling.wording import listed, stage_name


@dataclass(frozen=True)
class Marks:
    """What is shown of visits beside their work. held: those that crews have not been told of.
    late: by id those that come before their material."""

    held: Collection[Block]
    pins: ShownPins
    now: datetime
    late: Mapping[str, LateVisit] = field(default_factory=dict)


def crew_lanes(
    crew: Crew,
    blocks: Sequence[Block],
    marks: Marks,
    columns: DayColumns,
    plan: Plan | None,
) -> list[Lane]:
    """Return a lane for each house at which the crew has been or will be in the columns' days, in
    the order in which it gets there.

    In a lane are also the visits of other crews from which this one takes over, or which take
    over from it.
    """
    shown = [block for block in blocks if is_seen(block, columns)]
    houses = dict.fromkeys(block.house for block in shown if block.crew == crew)
    return [
        Lane(
            name=shortened(house.name, LEFT - 30),
            href=reverse("web:house", args=[house.public_id]),
            weave=f"weave-{house_tint(house)}",
            visits=list(_visits(house, crew, shown, marks)),
            cold=_cold(plan, house, shown, columns) if plan else [],
        )
        for house in houses
    ]


def dry_hours(block: Block) -> Span | None:
    """Return when the first and the last of a block's rooms are dry or set; None where it leaves
    nothing to dry."""
    ready = [task.ready_at for task in block.tasks if task.ready_at is not None]
    return (min(ready), max(ready)) if ready else None


def over_at(block: Block) -> datetime:
    """Return when a block is done and all that it leaves is dry or set."""
    dries = dry_hours(block)
    return max(block.ends_at, dries[1]) if dries else block.ends_at


def is_seen(block: Block, columns: DayColumns) -> bool:
    """Return whether a block or what it leaves to dry lies in the columns' days."""
    return block.starts_at < columns.last and over_at(block) > columns.first


def shortened(name: str, room_px: float) -> str:
    """Return a name cut so that there is room for it."""
    if text_width(name) <= room_px:
        return name
    while name and text_width(name + "…") > room_px:
        name = name[:-1]
    return name.rstrip() + "…"


def visit_sentence(block: Block, clock: Clock) -> str:
    """Say who is where from when to when, what is done, and when it is dry."""
    said = _("%(crew)s at %(house)s, %(start)s to %(end)s: %(stages)s") % {
        "crew": block.crew.name,
        "house": block.house.name,
        "start": clock.moment(block.starts_at),
        "end": clock.hour(block.ends_at),
        "stages": listed(
            [stage_name(stage) for stage in dict.fromkeys(task.stage for task in block.tasks)]
        ),
    }
    return "; ".join(part for part in (said, _dry_words(block, clock)) if part)


def _dry_words(block: Block, clock: Clock) -> str:
    dries = dry_hours(block)
    if dries is None:
        return ""
    first, last = map(clock.moment, dries)
    if first == last:
        return _("dry or set %(moment)s") % {"moment": first}
    return _("first room dry or set %(first)s, last %(last)s") % {"first": first, "last": last}


def _cold(plan: Plan, house: House, blocks: Iterable[Block], columns: DayColumns) -> list[Span]:
    """Return when a house is too cold, as long as there is work or something dries in it."""
    until = max(over_at(block) for block in blocks if block.house == house)
    return spans_within(cold_spans(plan, house), columns.first, min(until, columns.last))


def spans_within(spans: Iterable[Span], first: datetime, last: datetime) -> list[Span]:
    """Return what of some spans lies between two instants."""
    inside = ((max(one, first), min(other, last)) for one, other in spans)
    return [(one, other) for one, other in inside if one < other]


def _visits(house: House, crew: Crew, blocks: Iterable[Block], marks: Marks) -> Iterator[LaneVisit]:
    clock = Clock(ZoneInfo(crew.zone))
    for block in blocks:
        if block.house == house:
            pinned = marks.pins.said(block)
            yield LaneVisit(
                span=(block.starts_at, block.ends_at),
                dries=dry_hours(block),
                said=". ".join(part for part in (visit_sentence(block, clock), pinned) if part),
                name=house.name,
                own=block.crew == crew,
                held=block in marks.held,
                is_pinned=bool(pinned),
                data=drag_data(block, marks.now),
            )


def drag_data(block: Block, now: datetime) -> dict[str, str]:
    """Return what the script that drags a visit needs: where it asks and when the work begins, in
    seconds since 1970; or why the visit stays where it is."""
    if stays := why_it_stays(block, now):
        return {"data-stays": stays}
    begins = int(block.tasks[0].starts_at.timestamp())
    return {"data-move": reverse("web:move", args=[visit_id(block)]), "data-begins": str(begins)}
