"""Drawings in SVG that stand in a page. Pure: shapes and words in, markup out.

Everything is told in black and white by presentation attributes; the style sheet only adds
colour, by class. Markup is built as a tree, so that whatever words it is given stay words.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from xml.etree import ElementTree as ET  # nosec B405

type Point = tuple[float, float]

FONT_PX = 11.0
_WIDE_LETTER = 0.62
"""Width of a letter over the font's size, rather too wide: labels are kept inside by it."""
_MARK_PX = 4.5

LOOKS: Mapping[str, Mapping[str, str]] = {
    "grid": {"stroke": "#bbb", "stroke-width": "0.6"},
    "axis": {"stroke": "#333", "stroke-width": "1"},
    "past": {"stroke": "#000", "stroke-width": "2"},
    "to-come": {"stroke": "#000", "stroke-width": "1.8", "stroke-dasharray": "4 2.5"},
    "kept": {"stroke": "#000", "stroke-width": "0.9"},
    "now": {"stroke": "#000", "stroke-width": "1.2", "stroke-dasharray": "7 2 1.5 2"},
    "late": {"stroke": "#000", "stroke-width": "2.5", "stroke-dasharray": "2 2"},
    "least": {"stroke": "#000", "stroke-width": "1.2", "stroke-dasharray": "1.5 2.5"},
}
"""How lines look, by class."""

BAND_LOOKS: Mapping[str, str] = {
    "reading": "M0 0H6V6H0Z",
    "logger": "M0 3H6M3 0V6",
    "record": "M-1 1L1 -1M0 6L6 0M5 7L7 5",
    "forecast": "M2 2H4V4H2Z",
    "assumed": "",
}
"""The pattern of what air rests on, as a path in a tile of 6 by 6, the firmest the darkest."""
_FILLED = frozenset({"reading", "forecast"})


_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})
_SPECIAL = re.compile('[&<>"]').search


class Drawing:
    """One picture: a view box of ``width`` by ``height``, named for those who do not see it.

    name: the start of the ids in it, which has to be the page's only one. role: ``group`` where
    there are links in it.
    """

    def __init__(
        self,
        name: str,
        *,
        title: str,
        description: str,
        width: float,
        height: float,
        role: str = "img",
    ) -> None:
        self.width, self.height = width, height
        self.root = ET.Element(
            "svg",
            {
                "class": "chart",
                "viewBox": f"0 0 {px_text(width)} {px_text(height)}",
                "role": role,
                "aria-labelledby": f"{name}-title {name}-desc",
            },
        )
        self._into = self.root
        ET.SubElement(self.root, "title", {"id": f"{name}-title"}).text = title
        ET.SubElement(self.root, "desc", {"id": f"{name}-desc"}).text = description

    def line(self, points: Sequence[Point], look: str) -> None:
        """Draw a line through points in one of LOOKS; none through fewer than two."""
        if len(points) > 1:
            drawn = " ".join(f"{px_text(x)},{px_text(y)}" for x, y in points)
            self.add("polyline", {"points": drawn, "class": look, "fill": "none", **LOOKS[look]})

    def text(
        self, x: float, y: float, words: str, *, anchor: str = "middle", look: str = "words"
    ) -> None:
        """Write words at a point, moved sideways as far as it takes to stay inside."""
        left = _left_of(x, text_width(words), anchor)
        inside = max(0.0, min(left, self.width - text_width(words)))
        attributes = {
            "x": px_text(x + inside - left),
            "y": px_text(y),
            "text-anchor": anchor,
            "font-size": px_text(FONT_PX),
            "class": look,
        }
        self.add("text", attributes).text = words

    def bar(self, corner: Point, opposite: Point, look: str, *, fill: str = "none") -> None:
        """Draw a rectangle between opposite corners; fill: a colour or ``url(#pattern)``."""
        (x1, y1), (x2, y2) = corner, opposite
        size = {"width": px_text(abs(x2 - x1)), "height": px_text(abs(y2 - y1))}
        place = {"x": px_text(min(x1, x2)), "y": px_text(min(y1, y2))}
        edge = {"stroke": "#000", "stroke-width": "0.8", "fill": fill, "class": look}
        self.add("rect", {**place, **size, **edge})

    def mark(self, x: float, y: float, shape: str) -> None:
        """Draw one of the marks ``dot``, ``diamond`` (hollow) and ``arrow`` (its tip up)."""
        r = _MARK_PX
        if shape == "dot":
            circle = {"cx": px_text(x), "cy": px_text(y), "r": px_text(r - 1), "fill": "#000"}
            self.add("circle", {**circle, "class": shape})
            return
        corners = {
            "diamond": [(x, y - r - 1), (x + r + 1, y), (x, y + r + 1), (x - r - 1, y)],
            "arrow": [(x, y), (x + r, y + 2 * r), (x - r, y + 2 * r)],
        }[shape]
        drawn = " ".join(f"{px_text(px)},{px_text(py)}" for px, py in corners)
        fill = "none" if shape == "diamond" else "#000"
        self.add(
            "polygon",
            {"points": drawn, "fill": fill, "stroke": "#000", "stroke-width": "1", "class": shape},
        )

    def markup(self) -> str:
        """Return the drawing as markup for a page, every word in it escaped."""
        return "".join(_markup(self.root))

    @contextmanager
    def inside(self, tag: str, attributes: Mapping[str, str]) -> Iterator[ET.Element]:
        """Put what is drawn meanwhile into an element of its own: a group, or a link."""
        around, self._into = self._into, self.add(tag, attributes)
        try:
            yield self._into
        finally:
            self._into = around

    def add(self, tag: str, attributes: Mapping[str, str]) -> ET.Element:
        """Add an element of any kind."""
        return ET.SubElement(self._into, tag, dict(attributes))


def text_width(words: str) -> float:
    """Return about how wide words are, rather too wide than too narrow."""
    return len(words) * FONT_PX * _WIDE_LETTER


def band_fill(kind: str) -> str:
    """Return the fill of a stretch of air of a kind; white where there is no pattern for it."""
    return f"url(#air-{kind})" if BAND_LOOKS.get(kind) else "#fff"


def pattern_markup() -> str:
    """Return the patterns of BAND_LOOKS; once on a page whose drawings use them."""
    root = ET.Element(
        "svg", {"class": "unseen", "width": "0", "height": "0", "aria-hidden": "true"}
    )
    definitions = ET.SubElement(root, "defs")
    for kind, path in BAND_LOOKS.items():
        if path:
            tile = {"width": "6", "height": "6", "patternUnits": "userSpaceOnUse"}
            pattern = ET.SubElement(definitions, "pattern", {"id": f"air-{kind}", **tile})
            ET.SubElement(pattern, "path", {"d": "M0 0H6V6H0Z", "fill": "#fff"})
            fill = "#000" if kind in _FILLED else "none"
            ET.SubElement(
                pattern, "path", {"d": path, "fill": fill, "stroke": "#000", "stroke-width": "1"}
            )
    return ET.tostring(root, encoding="unicode")


def _markup(element: ET.Element) -> Iterator[str]:
    """Yield an element as markup: of names without a namespace, in half of the library's time."""
    attributes = "".join(f' {name}="{_escaped(value)}"' for name, value in element.items())
    if not len(element) and not element.text:
        yield f"<{element.tag}{attributes}/>"
        return
    yield f"<{element.tag}{attributes}>{_escaped(element.text or '')}"
    for child in element:
        yield from _markup(child)
    yield f"</{element.tag}>"


def _escaped(words: str) -> str:
    return words.translate(_ESCAPES) if _SPECIAL(words) else words


def _left_of(x: float, width: float, anchor: str) -> float:
    return x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width


def px_text(value: float) -> str:
    """Return a number to a tenth of a pixel, without a point where it has no tenths."""
    return f"{value:.1f}".removesuffix(".0")
