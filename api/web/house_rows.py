"""What is drawn of a house over some weeks: visits with their crews, closures, promises."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api.web.crew_lanes import dry_hours, over_at, spans_within, visit_sentence
from api.web.day_columns import DayColumns
from api.web.house_drawing import HouseVisit, HouseWeeks, Promised, Work
from api.web.moments import Clock
from api.web.plan_drawing import Span
from api.web.scales import day_begins
from api.web.shown_days import cold_words
from api.web.shown_pins import ShownPins
from api.web.standing import promises
from api.web.time_charts import Words
from api.web.visits import house_tint
from finishing.models import Closure, Crew, House
from finishing.rules.vocabulary import COATS, DUSTY, Stage
from scheduling.models import Plan
from scheduling.queries.cold import cold_spans
from scheduling.queries.visits import Block
from scheduling.wording import handover_sentence

_A_DAY = timedelta(days=1)
_PUTS_ON = COATS | {Stage.CORNICE, Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP}


@dataclass(frozen=True)
class VisitMarks:
    """What is shown of visits beside their work. crews: by crew what stands for it."""

    crews: Mapping[int, str]
    pins: ShownPins


def crew_marks(crews: Sequence[Crew]) -> dict[int, str]:
    """Return by crew what stands for it: its first letter where all have others, else A, B, C and
    so on, past Z numbers."""
    letters = [crew.name[:1].upper() for crew in crews]
    if len(set(letters)) < len(letters):
        letters = [chr(ord("A") + n) if n < 26 else str(n + 1) for n in range(len(crews))]
    return {crew.pk: letter for crew, letter in zip(crews, letters, strict=True)}


def house_weeks(
    house: House,
    plan: Plan | None,
    blocks: Sequence[Block],
    *,
    closures: Iterable[Closure],
    marks: VisitMarks,
    clock: Clock,
    columns: DayColumns,
) -> HouseWeeks:
    """Return what is to be drawn of a house over columns; blocks by time, clock: the house's."""
    zone = clock.zone
    promised = list(_promised(plan, house, zone)) if plan else []
    until = _wanted_warm_until(blocks, promised, columns)
    cold = spans_within(cold_spans(plan, house), columns.first, until) if plan else []
    visits = [_visit(block, marks, clock) for block in blocks]
    said = ngettext("%(n)s visit", "%(n)s visits", len(visits)) % {"n": len(visits)}
    return HouseWeeks(
        words=Words(
            f"house-{house.pk}",
            _("%(house)s by weeks") % {"house": house.name},
            ". ".join([said, *(row.said for row in promised), *_cold_said(house, cold)]),
        ),
        weave=f"weave-{house_tint(house)}",
        visits=visits,
        closed=[_closed(row, zone) for row in closures],
        promises=promised,
        cold=cold,
    )


def _wanted_warm_until(
    blocks: Iterable[Block], promised: Sequence[Promised], columns: DayColumns
) -> datetime:
    """Return until when it matters how warm a house is: until its work is over and dry; to the end
    where some of it could not be planned, as that may be for the cold."""
    if any(row.met is None for row in promised):
        return columns.last
    ends = [*map(over_at, blocks), *(row.met for row in promised if row.met)]
    return min(max(ends, default=columns.first), columns.last)


def _cold_said(house: House, cold: Sequence[Span]) -> list[str]:
    return [cold_words(house.name, cold)] if cold else []


def _visit(block: Block, marks: VisitMarks, clock: Clock) -> HouseVisit:
    pinned = marks.pins.said(block)
    return HouseVisit(
        day=block.starts_at.astimezone(clock.zone).date(),
        span=(block.starts_at, block.ends_at),
        dries=dry_hours(block),
        mark=marks.crews[block.crew.pk],
        work=_work(block),
        said=". ".join(part for part in (visit_sentence(block, clock), pinned) if part),
        is_pinned=bool(pinned),
    )


def _work(block: Block) -> Work:
    """Return what most of a block's time goes into."""
    spent = dict.fromkeys(Work, timedelta())
    for task in block.tasks:
        kind = Work.COAT if task.stage in _PUTS_ON else Work.OTHER
        spent[Work.SANDING if task.stage in DUSTY else kind] += task.ends_at - task.starts_at
    return max(spent, key=lambda work: spent[work])


def _closed(closure: Closure, zone: ZoneInfo) -> tuple[tuple[datetime, datetime], str]:
    span = day_begins(closure.first_day, zone), day_begins(closure.last_day + _A_DAY, zone)
    said = _("%(area)s is with others") % {"area": closure.area.name}
    return span, ": ".join(part for part in (said, closure.reason) if part)


def _promised(plan: Plan, house: House, zone: ZoneInfo) -> Iterator[Promised]:
    """Yield the handovers that are still to come."""
    for row in promises(plan, house):
        if row["state"] != "done":
            yield Promised(
                due=day_begins(date.fromisoformat(row["due_on"]) + _A_DAY, zone),
                met=datetime.fromisoformat(row["met_at"]) if row["met_at"] else None,
                said=handover_sentence(row, zone),
            )
