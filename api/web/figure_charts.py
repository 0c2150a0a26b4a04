"""Charts of a single figure over time: a line, or bars of a count. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from api.web.scales import Scale, round_ticks
from api.web.time_charts import LEFT, RIGHT, Moments, Period, TimeChart, Words

type Bar = tuple[datetime, datetime, float]
"""From when to when, and how many."""


@dataclass(frozen=True)
class Level:
    """A level worth a line of its own, with what to call it."""

    value: float
    words: str


def series_chart(
    words: Words,
    period: Period,
    moments: Moments,
    *,
    unit: str,
    ends: tuple[float, float] | None = None,
    least: Level | None = None,
) -> str:
    """Return the chart of a figure over time as markup.

    ends: what the axis spans at least; otherwise what the figures (and the level) span.
    """
    chart = TimeChart(words, period, top=22, bottom=112)
    values = [value for _, value in moments] + ([least.value] if least else []) + [*(ends or ())]
    ticks = round_ticks(min(values), max(values), most=4)
    scale = Scale(ticks[0], ticks[-1], chart.bottom, chart.top)
    chart.levels(ticks, scale, lambda tick: f"{tick:g}{unit}")
    if least:
        y = scale.px(least.value)
        chart.drawing.line([(LEFT, y), (RIGHT, y)], "least")
        chart.drawing.text(RIGHT, y - 3, least.words, anchor="end")
    chart.curve(moments, scale)
    chart.now()
    return chart.drawing.markup()


def bar_chart(words: Words, period: Period, bars: Sequence[Bar]) -> str:
    """Return the chart of a count by stretches of time as markup; each bar bears its count."""
    chart = TimeChart(words, period, top=22, bottom=82)
    most = max([1.0, *(count for _, _, count in bars)])
    scale = Scale(0.0, most, chart.bottom, chart.top + 12)
    chart.levels([0.0, most], scale, lambda tick: f"{tick:g}")
    for first, last, count in bars:
        left, right = chart.time.px(first), chart.time.px(last)
        if count > 0 and right > left:
            top = scale.px(count)
            chart.drawing.bar((left, chart.bottom), (right, top), "dryers", fill="#ddd")
            chart.drawing.text((left + right) / 2, top - 3, f"{count:g}")
    chart.now()
    return chart.drawing.markup()
