"""Plans beside each other in one picture: for each figure a bar a plan. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from api.web.charts import FONT_PX, Drawing, text_width
from api.web.scales import Scale

WIDTH, LEFT = 480.0, 132.0
WORDS = 44.0
"""Room right of the bars, more where a figure takes more."""
LINE, BAR, HEAD, GAP = 17.0, 11.0, 18.0, 8.0
_BEFORE, _TRIED = "#000", "url(#air-record)"
"""The plan as it is is black, what is tried is hatched; each bar bears its name and figure."""


@dataclass(frozen=True)
class Measure:
    """A figure of some plans: what it is called, and by plan its value and words for it; None for
    a plan of which it is not known."""

    name: str
    values: Sequence[tuple[float, str] | None]


def scenario_chart(plans: Sequence[str], measures: Sequence[Measure], *, first_is: bool) -> str:
    """Return the chart of plans, by name, as markup. first_is: whether the first of them is the
    plan as it is, and not tried."""
    height = len(measures) * (HEAD + len(plans) * LINE + GAP)
    drawing = Drawing(
        "scenarios",
        title=gettext("Plans side by side"),
        description=gettext(
            "For each figure a bar for each plan, the working plan black, scenarios hatched. The "
            "same figures are in the table."
        ),
        width=WIDTH,
        height=height,
    )
    top = 0.0
    for measure in measures:
        drawing.text(2, top + FONT_PX + 1, measure.name, anchor="start", look="words heading")
        _bars(drawing, measure, plans, top + HEAD, first_is=first_is)
        top += HEAD + len(plans) * LINE + GAP
    return drawing.markup()


def _bars(
    drawing: Drawing, measure: Measure, plans: Sequence[str], top: float, *, first_is: bool
) -> None:
    most = max([value[0] for value in measure.values if value] + [1e-9])
    words = max([text_width(value[1]) for value in measure.values if value] + [WORDS])
    scale = Scale(0.0, most, LEFT, WIDTH - words - 6)
    bottom = top + len(plans) * LINE
    drawing.line([(LEFT, top - 2), (LEFT, bottom)], "axis")
    for number, (name, value) in enumerate(zip(plans, measure.values, strict=True)):
        y = top + number * LINE
        drawing.text(LEFT - 5, y + BAR - 1, _short(name), anchor="end")
        if value is None:
            drawing.text(LEFT + 4, y + BAR - 1, gettext("not known"), anchor="start")
            continue
        end = scale.px(max(value[0], 0.0))
        if end > LEFT:
            fill = _BEFORE if first_is and number == 0 else _TRIED
            drawing.bar((LEFT, y), (end, y + BAR), "plan", fill=fill)
        drawing.text(end + 4, y + BAR - 1, value[1], anchor="start")


def _short(name: str) -> str:
    """Return as much of a name as stands left of the bars."""
    while text_width(name) > LEFT - 8:
        name = name.removesuffix("…")[:-1].rstrip() + "…"
    return name
