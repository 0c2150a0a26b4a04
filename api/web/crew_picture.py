"""The week page's picture: each crew's visits, and the drying after them, drawn over the days."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from api.web.calendar import CrewCalendar
from api.web.clock_changes import clock_changes
from api.web.crew_drawing import LEFT, RIGHT, CrewWeek, crew_drawing, head_drawing
from api.web.crew_lanes import Marks, crew_lanes
from api.web.day_columns import DayColumns
from api.web.shown_days import cold_words, idle_days, working_hours
from api.web.time_charts import Words
from api.web.weaves import weave_markup
from api.web.week_legend import Sample, week_legend
from finishing.models import Company, Crew
from scheduling.models import Plan
from scheduling.queries.visits import Block
from scheduling.wording import listed


@dataclass(frozen=True)
class CrewPicture:
    """A crew, its zone where it is another than the company's, its week as markup: "" where it is
    nowhere. knots: what tells the script that drags visits which instant is where."""

    crew: Crew
    zone: str
    chart: str
    knots: str

    @property
    def name(self) -> str:
        return self.crew.name


@dataclass(frozen=True)
class WeekPicture:
    """A week's drawings as markup: the weaves that they use, the days, a row for each crew."""

    weaves: str
    head: str
    legend: list[Sample]
    rows: tuple[CrewPicture, ...]


@dataclass(frozen=True)
class DrawnWeek:
    """What a picture is made of. blocks: by time."""

    company: Company
    plan: Plan | None
    days: Sequence[date]
    blocks: Sequence[Block]
    marks: Marks
    calendar: CrewCalendar


def week_picture(week: DrawnWeek) -> WeekPicture:
    """Return the picture; every crew's days are those of its own clock."""
    crews = week.calendar.crews
    columns = _columns(week, {week.company.zone, *(crew.zone for crew in crews)})
    return WeekPicture(
        weaves=weave_markup(),
        head=_head(week, columns[week.company.zone]),
        legend=week_legend(),
        rows=tuple(_crew(week, crew, columns[crew.zone]) for crew in crews),
    )


def _columns(week: DrawnWeek, zones: Collection[str]) -> dict[str, DayColumns]:
    """Return by zone the same columns."""
    hours = working_hours(week.blocks, week.calendar)
    idle = idle_days(week.days, week.blocks, week.calendar)
    return {
        zone: DayColumns(week.days, ZoneInfo(zone), left=LEFT, right=RIGHT, hours=hours, idle=idle)
        for zone in zones
    }


def _head(week: DrawnWeek, columns: DayColumns) -> str:
    names = [date_format(day, "D j M") for day in week.days]
    marks = {place: week.calendar.holidays.get(day, "") for place, day in enumerate(week.days)}
    return head_drawing(columns, names, {place: mark for place, mark in marks.items() if mark})


def _crew(week: DrawnWeek, crew: Crew, columns: DayColumns) -> CrewPicture:
    calendar, days = week.calendar, week.days
    lanes = crew_lanes(crew, week.blocks, week.marks, columns, week.plan)
    absences = {place: listed([*calendar.absences(crew, day)]) for place, day in enumerate(days)}
    today = week.marks.now.astimezone(columns.zone).date()
    drawn = CrewWeek(
        words=Words(
            f"crew-{crew.pk}",
            _("The week of %(crew)s") % {"crew": crew.name},
            " ".join(
                [
                    _("Its visits and the drying after them; each is also in the table below."),
                    *(cold_words(lane.name, lane.cold) for lane in lanes if lane.cold),
                ]
            ),
        ),
        lanes=lanes,
        off=[place for place, day in enumerate(days) if not calendar.works(crew, day)],
        today=days.index(today) if today in days else None,
        notes={place: words for place, words in absences.items() if words},
        changes=list(clock_changes(columns.first, columns.last, columns.zone)),
        now=week.marks.now,
    )
    zone = crew.zone if crew.zone != week.company.zone else ""
    shown = bool(lanes or drawn.notes)
    chart = crew_drawing(drawn, columns) if shown else ""
    return CrewPicture(crew, zone, chart, columns.knots())
