"""A house's weeks as a drawing: its visits with their crews, what dries, what is promised. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from itertools import groupby, pairwise

from api.web.charts import text_width
from api.web.clock_changes import ClockChange
from api.web.day_columns import DayColumns
from api.web.plan_drawing import PlanDrawing, Span
from api.web.time_charts import Words

WIDTH, LEFT, RIGHT = 1000.0, 2.0, 992.0
HEIGHT = 40.0
_MARK_Y, _TOP, _MIDDLE, _BOTTOM, _COLD_Y = 10.0, 13.0, 21.0, 29.0, 31.0


class Work(StrEnum):
    """What a visit is mostly about, each with a look of its own."""

    COAT = "coat"
    SANDING = "sanding"
    OTHER = "other"


@dataclass(frozen=True)
class Promised:
    """A handover: due until an instant, planned to be met at another; None where it is not met by
    what is planned."""

    due: datetime
    met: datetime | None
    said: str

    @property
    def is_late(self) -> bool:
        return self.met is not None and self.met > self.due


@dataclass(frozen=True)
class HouseVisit:
    """A visit: on which of the house's days, whose (``mark`` stands for the crew), what it is
    about, when its rooms are dry."""

    day: date
    span: Span
    dries: Span | None
    mark: str
    work: Work
    said: str
    is_pinned: bool = False


@dataclass(frozen=True)
class HouseWeeks:
    """A house's weeks. closed: when others have which of its areas; cold: hours in which its air
    is too cold for coats."""

    words: Words
    weave: str
    visits: Sequence[HouseVisit]
    closed: Sequence[tuple[Span, str]] = ()
    promises: Sequence[Promised] = ()
    cold: Sequence[Span] = ()


@dataclass(frozen=True)
class Ground:
    """What lies under all houses of a zone. off: places of days without work."""

    name: str
    columns: DayColumns
    off: Sequence[int]
    today: int | None
    changes: Sequence[ClockChange]
    now: datetime


def ground_markup(grounds: Iterable[Ground]) -> str:
    """Return the grounds that houses lie on; once on a page whose drawings use them."""
    drawing = PlanDrawing("grounds", title="", description="", width=WIDTH, height=HEIGHT)
    drawing.root.attrib |= {"class": "unseen", "width": "0", "height": "0", "aria-hidden": "true"}
    with drawing.inside("defs", {}):
        for ground in grounds:
            with drawing.inside("g", {"id": ground.name, "class": "chart"}):
                _draw_ground(drawing.over(ground.columns), ground)
    return drawing.markup()


def house_drawing(house: HouseWeeks, ground: Ground) -> str:
    """Return a house's weeks as markup, over a ground of ``ground_markup``."""
    words = house.words
    drawing = PlanDrawing(
        words.name, title=words.title, description=words.description, width=WIDTH, height=HEIGHT
    ).over(ground.columns)
    drawing.add("use", {"href": f"#{ground.name}"})
    for (first, last), said in house.closed:
        stretch = ground.columns.px(first), ground.columns.px(last)
        drawing.bands([stretch], _TOP - 2, _BOTTOM + 2, "closed", said)
    drawing.cold(house.cold, _COLD_Y)
    for visit in house.visits:
        if visit.dries:
            drawing.drying(visit.span[1], *visit.dries, _MIDDLE)
    for visit in house.visits:
        _visit(drawing, visit, house.weave)
    _marks(drawing, house.visits)
    for promised in house.promises:
        _promise(drawing, promised)
    return drawing.markup()


def _draw_ground(drawing: PlanDrawing, ground: Ground) -> None:
    if ground.today is not None:
        drawing.day_bands([ground.today], 0, HEIGHT, "today")
    drawing.day_bands(ground.off, 0, HEIGHT, "off")
    drawing.days(0, HEIGHT)
    for change in ground.changes:
        drawing.clock_change(change, 0, HEIGHT)
    drawing.now(ground.now, 0, HEIGHT)


def _visit(drawing: PlanDrawing, visit: HouseVisit, weave: str) -> None:
    if visit.span[1] <= drawing.columns.first:
        return
    if visit.work is Work.OTHER:
        drawing.others(visit.span, _TOP + 2, _BOTTOM - 2, visit.said)
    else:
        look = weave if visit.work is Work.COAT else "sanding"
        drawing.work(visit.span, _TOP, _BOTTOM, look, said=visit.said)
    if visit.is_pinned:
        drawing.pin(visit.span[0], _TOP + 3)


def _marks(drawing: PlanDrawing, visits: Sequence[HouseVisit]) -> None:
    """Write over each day whose its visits are, each crew once."""
    until = 0.0
    for _, of_day in groupby(visits, key=lambda visit: visit.day):
        first, *others = of_day
        marks = "".join(dict.fromkeys(visit.mark for visit in (first, *others)))
        x = max(drawing.columns.px(first.span[0]), until)
        if first.span[1] > drawing.columns.first:
            drawing.text(x, _MARK_Y, marks, anchor="start", look="whose")
            until = x + text_width(marks)


def _promise(drawing: PlanDrawing, promised: Promised) -> None:
    """Draw a flag where a handover is due; a diamond where it is met in time, a cross at the end of
    a broken line where it is late, a question mark where it is not met."""
    columns = drawing.columns
    due = columns.px(promised.due)
    if columns.first < promised.due <= columns.last:
        drawing.flag(due, 1, HEIGHT - 1, promised.said)
        if promised.met is None:
            drawing.text(due + 10, 11, "?", look="number")
    met = promised.met
    if promised.is_late and met and promised.due < columns.last and met > columns.first:
        drawing.line([(due, _MIDDLE), (columns.px(met), _MIDDLE)], "late")
    if met and columns.covers(met):
        drawing.met(columns.px(met), _MIDDLE, promised.said, late=promised.is_late)


def heads(columns: DayColumns, weeks: Sequence[str], days: Sequence[str]) -> str:
    """Return the names of the weeks (each of seven days) over their days' names, where there is
    room for these."""
    drawing = PlanDrawing("head", title="", description="", width=WIDTH, height=32)
    drawing.over(columns).root.set("aria-hidden", "true")
    for number, week in enumerate(weeks):
        drawing.text(columns.edges[7 * number] + 2, 12, week, anchor="start", look="number")
    for number, (left, right) in enumerate(pairwise(columns.edges)):
        if text_width(days[number]) < right - left - 2:
            drawing.text((left + right) / 2, 27, days[number], look="hour")
    return drawing.markup()
