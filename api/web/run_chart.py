"""How the plans of a run got better, drawn while it goes on."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from django.utils.translation import gettext

from api.web.charts import Drawing, Point
from api.web.scales import Scale, round_ticks
from scheduling.services.run_progress import Found

WIDTH, LEFT, RIGHT = 480.0, 52.0, 470.0
TOP, BOTTOM, HEIGHT = 18.0, 138.0, 160.0
_MINUTES_A_DAY = 24 * 60


@dataclass(frozen=True)
class RunChart:
    """The drawing, and what it shows as rows."""

    markup: str
    rows: list[Found]


def run_chart(found: list[Found], until: float) -> RunChart | None:
    """Return the chart of the plans found until so many seconds after the run was claimed.

    None as long as fewer than two have been found: there is no course to see yet.
    """
    if len(found) < 2:
        return None
    end = max(until, found[-1].at, 1.0)
    days = [value for one in found for value in (_days_late(one), _bound(one))]
    ticks = round_ticks(min(days), max(days), most=4)
    time, late = Scale(0.0, end, LEFT, RIGHT), Scale(ticks[0], ticks[-1], BOTTOM, TOP)
    drawing = _axes(time, late, ticks)
    for plans, until_next in _searches(found, end):
        for look, days_of in (("past", _days_late), ("least", _bound)):
            course = _held([(one.at, days_of(one)) for one in plans], until_next)
            drawing.line([(time.px(at), late.px(value)) for at, value in course], look)
        for one in plans:
            drawing.mark(time.px(one.at), late.px(_days_late(one)), "dot")
    return RunChart(drawing.markup(), found)


def _axes(time: Scale, late: Scale, ticks: list[float]) -> Drawing:
    drawing = Drawing(
        "course",
        title=gettext("How the plan got better"),
        description=gettext(
            "Days late, by weight, of the best plan of each search over the seconds of the run: "
            "a full line; what no plan comes below: a dotted line. The figures are in the table."
        ),
        width=WIDTH,
        height=HEIGHT,
    )
    for tick in ticks:
        drawing.line([(LEFT, late.px(tick)), (RIGHT, late.px(tick))], "grid")
        drawing.text(LEFT - 4, late.px(tick) + 4, f"{tick:g}", anchor="end")
    for tick in (tick for tick in round_ticks(0.0, time.high, most=5) if tick <= time.high):
        drawing.text(time.px(tick), BOTTOM + 16, gettext("%(n)s s") % {"n": f"{tick:g}"})
    return drawing


def _searches(found: list[Found], end: float) -> Iterator[tuple[list[Found], float]]:
    """Yield the plans of each search, and when the next found its first."""
    numbers = sorted({one.search for one in found})
    plans = [[one for one in found if one.search == number] for number in numbers]
    yield from zip(plans, [*(later[0].at for later in plans[1:]), end], strict=True)


def _held(values: list[Point], until: float) -> list[Point]:
    """Return the corners of values that each hold until the next."""
    corners = [corner for one, two in pairwise(values) for corner in (one, (two[0], one[1]))]
    return [*corners, values[-1], (until, values[-1][1])]


def _days_late(found: Found) -> float:
    return found.plan.cost / _MINUTES_A_DAY


def _bound(found: Found) -> float:
    return found.plan.bound / _MINUTES_A_DAY
