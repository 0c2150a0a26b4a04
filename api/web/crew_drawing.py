"""A crew's week as a drawing: a lane for each house it is at, its way between them. Pure."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from api.web.charts import px_text, text_width
from api.web.clock_changes import ClockChange
from api.web.day_columns import DayColumns, local_minute
from api.web.plan_drawing import PlanDrawing, Span
from api.web.time_charts import Words
from api.web.weaves import fill

WIDTH, LEFT, RIGHT = 1100.0, 168.0, 1096.0
"""Lanes are named left of LEFT."""
NOTES_PX, LANE_PX = 16.0, 30.0
_APART_PX = 10.0
"""Between the names of two days."""
_WORK_PX, _COLD_PX = 20.0, 25.0


@dataclass(frozen=True)
class LaneVisit:
    """A visit in a lane. dries: the hours at which the first and the last of its rooms are dry.

    said: all of it in a sentence. name: what is written on it. own: whether it is by the crew
    whose week this is; held: crews have not been told of it. data: what a script needs to know
    to have it dragged, as attributes.
    """

    span: Span
    dries: Span | None
    said: str
    name: str
    own: bool = True
    held: bool = False
    is_pinned: bool = False
    data: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Lane:
    """A house in a crew's week; ``cold`` are the hours in which its air is too cold for coats."""

    name: str
    href: str
    weave: str
    visits: Sequence[LaneVisit]
    cold: Sequence[Span] = ()


@dataclass(frozen=True)
class CrewWeek:
    """A crew's week. off: places of the days on which it does not work; notes: by the place of a
    day what is written over it."""

    words: Words
    lanes: Sequence[Lane]
    off: Sequence[int]
    today: int | None
    notes: Mapping[int, str]
    changes: Sequence[ClockChange]
    now: datetime


def crew_drawing(week: CrewWeek, columns: DayColumns) -> str:
    """Return a crew's week as markup."""
    bottom = NOTES_PX + LANE_PX * max(len(week.lanes), 1)
    drawing = PlanDrawing(
        week.words.name,
        title=week.words.title,
        description=week.words.description,
        width=WIDTH,
        height=bottom,
        role="group",
    ).over(columns)
    _ground(drawing, week, bottom)
    for number, lane in enumerate(week.lanes):
        _under(drawing, lane, _middle(number))
    _thread(drawing, week.lanes)
    for number, lane in enumerate(week.lanes):
        _over(drawing, lane, _middle(number))
    drawing.now(week.now, 0, bottom)
    return drawing.markup()


def _middle(number: int) -> float:
    """Return the middle of a lane's work."""
    return NOTES_PX + number * LANE_PX + 2 + _WORK_PX / 2


def _ground(drawing: PlanDrawing, week: CrewWeek, bottom: float) -> None:
    """Draw what lies under the lanes: days, what is off, the clocks, notes."""
    if week.today is not None:
        drawing.day_bands([week.today], 0, bottom, "today")
    drawing.day_bands(week.off, NOTES_PX, bottom, "off")
    drawing.days(0, bottom)
    for change in week.changes:
        drawing.clock_change(change, NOTES_PX, bottom)
    for number, note in week.notes.items():
        drawing.text(drawing.columns.edges[number] + 3, NOTES_PX - 4, note, anchor="start")


def _under(drawing: PlanDrawing, lane: Lane, middle: float) -> None:
    """Draw a lane's name, the hours too cold for coats, what dries in it, what others do."""
    drawing.text(LEFT - 26, middle + 4, lane.name, anchor="end")
    sample = {"x": px_text(LEFT - 20), "y": px_text(middle - 7), "width": "14", "height": "14"}
    edge = {"stroke": "#000", "stroke-width": "0.8"}
    drawing.add("rect", {**sample, **edge, "fill": fill(lane.weave)})
    drawing.cold(lane.cold, middle - 2 - _WORK_PX / 2 + _COLD_PX)
    for visit in lane.visits:
        if visit.dries:
            drawing.drying(visit.span[1], *visit.dries, middle)
    for visit in _in_columns(drawing, lane, own=False):
        with drawing.link(lane.href, visit.said):
            drawing.others(visit.span, middle - _WORK_PX / 4, middle + _WORK_PX / 4)


def _over(drawing: PlanDrawing, lane: Lane, middle: float) -> None:
    """Draw the crew's own visits in a lane, and the hours at which coats are dry."""
    top, bottom = middle - _WORK_PX / 2, middle + _WORK_PX / 2
    for visit in _in_columns(drawing, lane, own=True):
        with drawing.link(lane.href, visit.said, visit.data):
            drawing.work(visit.span, top, bottom, lane.weave, held=visit.held)
            drawing.plate(visit.span, middle, visit.name)
            if visit.is_pinned:
                drawing.pin(visit.span[0], top)
    for visit in lane.visits:
        if visit.dries and visit.dries[0] >= visit.span[1]:
            drawing.first_dry(visit.dries[0], middle)


def _in_columns(drawing: PlanDrawing, lane: Lane, *, own: bool) -> Iterator[LaneVisit]:
    for visit in lane.visits:
        if visit.own == own and visit.span[1] > drawing.columns.first:
            yield visit


def _thread(drawing: PlanDrawing, lanes: Sequence[Lane]) -> None:
    stops = [
        (visit.span, _middle(number))
        for number, lane in enumerate(lanes)
        for visit in _in_columns(drawing, lane, own=True)
    ]
    drawing.thread(sorted(stops))


def head_drawing(columns: DayColumns, days: Sequence[str], marks: Mapping[int, str]) -> str:
    """Return the names of the days over their columns, and under them what marks a day."""
    drawing = PlanDrawing("head", title="", description="", width=WIDTH, height=32)
    drawing.over(columns)
    drawing.root.set("aria-hidden", "true")
    for number, day in enumerate(days):
        left, right = columns.edges[number : number + 2]
        name = day if text_width(day) + _APART_PX <= right - left else day.split(" ")[0]
        drawing.text((left + right) / 2, 12, name, look="number")
        if number in marks:
            drawing.text((left + right) / 2, 27, marks[number])
        else:
            _hours(drawing, number)
    return drawing.markup()


def _hours(drawing: PlanDrawing, number: int) -> None:
    """Write the full hours at which a day's work begins and ends, and noon between them."""
    columns = drawing.columns
    hours = {columns.hours.opens // 60, 12, columns.hours.closes // 60}
    if columns.is_idle(number) or not min(hours) <= 12 <= max(hours) < 24:
        return
    for hour in hours:
        x = columns.px(local_minute(columns.days[number], hour * 60, columns.zone))
        drawing.text(x, 27, str(hour), look="hour")
