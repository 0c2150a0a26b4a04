"""Charts of columns made of parts, told apart by pattern, with their key below. Pure."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from api.web.charts import FONT_PX, Drawing, text_width
from api.web.scales import Scale, round_ticks
from api.web.time_charts import LEFT, RIGHT, WIDTH, Words

TOP, BOTTOM = 20.0, 120.0
_LABELS_PX, _KEY_PX, _SWATCH_PX = 16.0, 17.0, 11.0
_SHARE_OF_STEP = 0.64
"""Of the room of a column, so much is its own."""


@dataclass(frozen=True)
class Part:
    """A kind of part: ``code``, what the key calls it, how it is filled (see ``band_fill``)."""

    code: str
    words: str
    fill: str


@dataclass(frozen=True)
class Column:
    """A column: its label, how tall each part is by code (0 or more), what stands on top."""

    label: str
    heights: Mapping[str, float]
    top: str = ""


def column_chart(
    words: Words,
    columns: Sequence[Column],
    parts: Sequence[Part],
    name: Callable[[float], str] = "{:g}".format,
) -> str:
    """Return the chart as markup, parts from the bottom up in the order they are given. name: says
    a value of the axis."""
    height = BOTTOM + _LABELS_PX + _KEY_PX * len(parts) + 4
    drawing = Drawing(
        words.name, title=words.title, description=words.description, width=WIDTH, height=height
    )
    tallest = max([1e-9, *(sum(column.heights.values()) for column in columns)])
    ticks = round_ticks(0.0, tallest, most=4)
    scale = Scale(0.0, ticks[-1], BOTTOM, TOP)
    for tick in ticks:
        drawing.line([(LEFT, scale.px(tick)), (RIGHT, scale.px(tick))], "grid")
        drawing.text(LEFT - 3, scale.px(tick) + 4, name(tick), anchor="end")
    step = (RIGHT - LEFT) / max(len(columns), 1)
    every = _every(columns, step)
    for number, column in enumerate(columns):
        middle = LEFT + (number + 0.5) * step
        _draw(drawing, column, parts, scale, (middle, step))
        if number % every == 0:
            drawing.text(middle, BOTTOM + FONT_PX + 2, column.label)
    drawing.line([(LEFT, BOTTOM), (RIGHT, BOTTOM)], "axis")
    _key(drawing, parts)
    return drawing.markup()


def _every(columns: Sequence[Column], step: float) -> int:
    """Return of how many columns one is named, so that names do not cover each other."""
    widest = max((text_width(column.label) for column in columns), default=0.0)
    return max(1, -int(-(widest + 4) // step))


def _draw(
    drawing: Drawing,
    column: Column,
    parts: Sequence[Part],
    scale: Scale,
    place: tuple[float, float],
) -> None:
    middle, step = place
    half, low = step * _SHARE_OF_STEP / 2, 0.0
    for part in parts:
        high = low + column.heights.get(part.code, 0.0)
        if high > low:
            corners = (middle - half, scale.px(low)), (middle + half, scale.px(high))
            drawing.bar(*corners, "column", fill=part.fill)
        low = high
    if column.top:
        drawing.text(middle, scale.px(low) - 4, column.top)


def _key(drawing: Drawing, parts: Sequence[Part]) -> None:
    for number, part in enumerate(reversed(parts)):
        top = BOTTOM + _LABELS_PX + number * _KEY_PX + 6
        drawing.bar((LEFT, top), (LEFT + 18, top + _SWATCH_PX), "column", fill=part.fill)
        drawing.text(LEFT + 24, top + 9, part.words, anchor="start")
