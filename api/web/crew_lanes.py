"""A crew's blocks of work as the lanes of its drawing: one for each house it is at."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _

from api.web.charts import text_width
from api.web.crew_drawing import LEFT, Lane, LaneVisit
from api.web.day_columns import DayColumns
from api.web.moments import Clock
from api.web.plan_drawing import Span
from api.web.visits import house_tint
from finishing.models import Crew, House
from scheduling.queries.visits import Block
from scheduling.wording import listed, stage_name


def crew_lanes(
    crew: Crew, blocks: Sequence[Block], held: Collection[Block], columns: DayColumns
) -> list[Lane]:
    """Return a lane for each house at which the crew has been or will be in the columns' days, in
    the order in which it gets there. held: what crews have not been told of.

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
            visits=list(_visits(house, crew, shown, held)),
        )
        for house in houses
    ]


def dry_hours(block: Block) -> Span | None:
    """Return when the first and the last of a block's rooms are dry or set; None where it leaves
    nothing to dry."""
    ready = [task.ready_at for task in block.tasks if task.ready_at is not None]
    return (min(ready), max(ready)) if ready else None


def is_seen(block: Block, columns: DayColumns) -> bool:
    """Return whether a block or what it leaves to dry lies in the columns' days."""
    dries = dry_hours(block)
    until = max(block.ends_at, dries[1]) if dries else block.ends_at
    return block.starts_at < columns.last and until > columns.first


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


def _visits(
    house: House, crew: Crew, blocks: Iterable[Block], held: Collection[Block]
) -> Iterator[LaneVisit]:
    clock = Clock(ZoneInfo(crew.zone))
    for block in blocks:
        if block.house == house:
            yield LaneVisit(
                span=(block.starts_at, block.ends_at),
                dries=dry_hours(block),
                said=visit_sentence(block, clock),
                name=house.name,
                own=block.crew == crew,
                held=block in held,
            )
