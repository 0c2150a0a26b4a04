"""How the coats of a room dry, as one small chart; and the key to it. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from api.web.charts import Drawing, band_fill
from api.web.scales import Scale, spread
from api.web.time_charts import RIGHT, Moments, Period, TimeChart, Words, value_at, within

_TOP, _BOTTOM, _ARROWS_PX = 38.0, 118.0, 13.0
_NUMBERS_PX, _NUMBER_WIDE_PX = 27.0, 12.0
_ROW_PX = 18.0
_COLUMNS = (4.0, 164.0)


@dataclass(frozen=True)
class DrawnCoat:
    """A coat: how dry it is when (0 to 1), when its least wait is over, when it is ready, when what
    goes over it starts. ``number``: what it is called in the chart."""

    number: int
    dryness: Moments
    least_at: datetime | None
    ready_at: datetime | None
    next_at: datetime | None

    @property
    def is_dry(self) -> bool:
        """Whether it dries before the next coat goes over it."""
        return self.dryness[-1][1] > 1 - 1e-6


def coat_chart(words: Words, period: Period, coats: Sequence[DrawnCoat]) -> str:
    """Return the chart of a room's coats as markup: each rises from 0 to 100 %, is ready at a
    dot, and lasts until what goes over it starts, at an arrow under the axis."""
    chart = TimeChart(words, period, top=_TOP, bottom=_BOTTOM, gap=_ARROWS_PX)
    scale = Scale(0.0, 1.0, _BOTTOM, _TOP)
    chart.levels([0.0, 0.5, 1.0], scale, lambda share: f"{share:.0%}")
    for coat in coats:
        _draw(chart, scale, coat)
    _name(chart, coats)
    chart.now()
    return chart.drawing.markup()


def _draw(chart: TimeChart, scale: Scale, coat: DrawnCoat) -> None:
    """Draw a coat; what marks a moment of it lies on its line, so that it is seen whose it is."""
    last = coat.dryness[-1][0]
    chart.curve(coat.dryness, scale)
    if coat.is_dry:
        until = max([last, *(at for at in (coat.ready_at, coat.next_at) if at)])
        kept = within([(last, 1.0), (until, 1.0)], chart.period.first, chart.period.last)
        chart.drawing.line([(chart.time.px(at), scale.px(share)) for at, share in kept], "kept")
    for at, shape in ((coat.least_at, "diamond"), (coat.ready_at, "dot")):
        if at and chart.time.covers(at) and (at <= last or coat.is_dry):
            y = scale.px(value_at(coat.dryness, at))
            chart.drawing.mark(chart.time.px(at), y, shape)
    if coat.next_at and chart.time.covers(coat.next_at):
        chart.drawing.mark(chart.time.px(coat.next_at), scale.px(0.0), "arrow")


def _name(chart: TimeChart, coats: Sequence[DrawnCoat]) -> None:
    """Write each coat's number over its line; coats in order."""
    middles = [
        (chart.time.px(coat.dryness[0][0]) + chart.time.px(coat.dryness[-1][0])) / 2
        for coat in coats
    ]
    for coat, x in zip(coats, spread(middles, apart=_NUMBER_WIDE_PX, high=RIGHT), strict=True):
        chart.drawing.text(x, _NUMBERS_PX, str(coat.number), look="number")


def key_chart(words: Words, lines: Mapping[str, str], air: Mapping[str, str]) -> str:
    """Return the key as markup. lines: by line look or mark what it stands for; air: by kind."""
    rows = max(len(lines), len(air))
    drawing = Drawing(
        words.name,
        title=words.title,
        description=words.description,
        width=320,
        height=rows * _ROW_PX + 2,
    )
    for row, (what, said) in enumerate(lines.items()):
        y = row * _ROW_PX + 9
        _sample(drawing, _COLUMNS[0], y, what)
        drawing.text(_COLUMNS[0] + 30, y + 4, said, anchor="start")
    for row, (kind, said) in enumerate(air.items()):
        y = row * _ROW_PX + 9
        x = _COLUMNS[1]
        drawing.bar((x, y - 5), (x + 24, y + 5), "air", fill=band_fill(kind))
        drawing.text(x + 30, y + 4, said, anchor="start")
    return drawing.markup()


def _sample(drawing: Drawing, x: float, y: float, what: str) -> None:
    if what in {"dot", "diamond"}:
        drawing.mark(x + 12, y, what)
    elif what == "arrow":
        drawing.mark(x + 12, y - 5, what)
    else:
        drawing.line([(x, y), (x + 24, y)], what)
