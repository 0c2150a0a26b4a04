"""The shapes that a drawn plan is made of: days, work, the drying after it. Pure."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree as ET  # nosec B405

from api.web.charts import Drawing, px_text, text_width
from api.web.clock_changes import ClockChange
from api.web.day_columns import DayColumns
from api.web.weaves import fill

LEAST_WORK_PX = 3.0
"""A visit is drawn no narrower, so that it can be seen and clicked."""
_PLATE_PX = 15.0

type Span = tuple[datetime, datetime]


class PlanDrawing(Drawing):
    """A drawing over day columns, whose shapes reach from ``top`` to ``bottom`` of a lane."""

    columns: DayColumns

    def over(self, columns: DayColumns) -> "PlanDrawing":
        """Draw over these columns from now on."""
        self.columns = columns
        return self

    @contextmanager
    def link(self, href: str, said: str, data: Mapping[str, str] | None = None) -> Iterator[None]:
        """Make what is drawn meanwhile a link with these words; data: more of its attributes."""
        with self.inside("a", {"href": href, "aria-label": said, **(data or {})}):
            self.add("title", {}).text = said
            yield

    def days(self, top: float, bottom: float) -> None:
        """Draw a line between each two days."""
        path = "".join(
            f"M{px_text(x)} {px_text(top)}V{px_text(bottom)}" for x in self.columns.edges
        )
        self.add("path", {"d": path, "class": "grid", "stroke": "#999", "stroke-width": "0.6"})

    def day_bands(self, numbers: Iterable[int], top: float, bottom: float, look: str) -> None:
        """Fill days' columns with a weave (``off``) or, for ``today``, with a light grey."""
        edges = self.columns.edges
        self.bands([(edges[number], edges[number + 1]) for number in numbers], top, bottom, look)

    def bands(
        self,
        stretches: Iterable[tuple[float, float]],
        top: float,
        bottom: float,
        look: str,
        said: str = "",
    ) -> None:
        """Fill stretches of the lane's width with a weave, or with the grey of ``today``."""
        path = "".join(
            f"M{px_text(left)} {px_text(top)}H{px_text(right)}V{px_text(bottom)}H{px_text(left)}Z"
            for left, right in stretches
            if right > left
        )
        if path:
            grey = "#eee" if look == "today" else fill(look)
            _tell(self.add("path", {"d": path, "fill": grey, "class": look}), said)

    def work(
        self,
        span: Span,
        top: float,
        bottom: float,
        weave: str,
        *,
        held: bool = False,
        said: str = "",
    ) -> None:
        """Draw a visit, dashed round where crews have not been told of it."""
        edge = {"stroke": "#000", "stroke-width": "1"}
        if held:
            edge |= {"stroke-dasharray": "3 2", "stroke-width": "1.6"}
        look = {"fill": fill(weave), "class": "work", **edge}
        _tell(self._box(*self._wide_enough(span), top, bottom, look), said)

    def others(self, span: Span, top: float, bottom: float, said: str = "") -> None:
        """Draw the visit of another crew, or one that is no coat: hollow."""
        edge = {"stroke": "#000", "stroke-width": "1", "fill": "#fff", "class": "others"}
        _tell(self._box(*self._wide_enough(span), top, bottom, edge), said)

    def flag(self, x: float, top: float, bottom: float, said: str) -> None:
        """Draw a flag on a pole, where something is due."""
        path = f"M{px_text(x)} {px_text(bottom)}V{px_text(top)}l-8 4l8 4"
        look = {"fill": "#fff", "stroke": "#000", "stroke-width": "1.5", "class": "due"}
        _tell(self.add("path", {"d": path, **look}), said)

    def met(self, x: float, y: float, said: str, *, late: bool) -> None:
        """Draw when a promise is met: a full diamond in time, a cross too late."""
        start = f"M{px_text(x)} {px_text(y)}"
        shape = "m-5 -6l10 12m0 -12l-10 12" if late else "m0 -7l6 7l-6 7l-6 -7z"
        look = {"class": "late", "stroke-width": "3"} if late else {"class": "kept"}
        edge = {"stroke": "#000", "fill": "#000", **look}
        _tell(self.add("path", {"d": start + shape, **edge}), said)

    def plate(self, span: Span, middle: float, words: str) -> None:
        """Write words on a plate in the middle of a visit, where it is wide enough for them."""
        left, right = map(self.columns.px, span)
        half = text_width(words) / 2 + 2
        if 2 * half > right - left - 4:
            return
        x = (left + right) / 2
        top = middle - _PLATE_PX / 2
        self._box(x - half, x + half, top, top + _PLATE_PX, {"fill": "#fff", "class": "plate"})
        self.text(x, middle + 4, words)

    def drying(self, ends: datetime, first: datetime, last: datetime, middle: float) -> None:
        """Draw what a visit leaves to dry: as thick as it is until the first room is dry, then
        thinner until the last one is."""
        x_end, x_first, x_last = map(self.columns.px, (ends, max(first, ends), max(last, ends)))
        half = 4.0
        points = [(x_end, -half), (x_first, -half), (x_last, 0), (x_first, half), (x_end, half)]
        drawn = " ".join(f"{px_text(x)},{px_text(middle + y)}" for x, y in points)
        wet = {"fill": fill("wet"), "stroke": "#000", "stroke-width": "0.6", "class": "wet"}
        self.add("polygon", {"points": drawn, **wet})

    def first_dry(self, at: datetime, middle: float) -> None:
        """Mark the hour from which somebody may come back; over the work that begins then."""
        if self.columns.covers(at):
            place = {"cx": px_text(self.columns.px(at)), "cy": px_text(middle), "r": "4"}
            edge = {"stroke": "#fff", "stroke-width": "1.2", "fill": "#000", "class": "dry"}
            self.add("circle", {**place, **edge})

    def pin(self, at: datetime, top: float) -> None:
        """Draw a pin with a round head, stuck into the beginning of a visit."""
        x = px_text(self.columns.px(at) + 5)
        needle = {"d": f"M{x} {px_text(top)}v11", "stroke": "#000", "stroke-width": "1.6"}
        self.add("path", {**needle, "class": "pin"})
        head = {"cx": x, "cy": px_text(top), "r": "4.5", "fill": "#fff", "stroke": "#000"}
        self.add("circle", {**head, "stroke-width": "1.6", "class": "pin"})

    def cold(self, spans: Iterable[Span], y: float) -> None:
        """Draw teeth along a line where the air is too cold for coats."""
        stretches = [(self.columns.px(first), self.columns.px(last)) for first, last in spans]
        self.bands(stretches, y, y + 5, "cold")

    def thread(self, spans: Sequence[tuple[Span, float]]) -> None:
        """Draw the way of a crew from visit to visit, each with the middle of its lane."""
        path = ""
        for (before, one), (after, other) in pairwise(spans):
            x1, x2 = self.columns.px(before[1]), self.columns.px(after[0])
            bend = max((x2 - x1) / 2, 4.0)
            ends = (x1, one, x1 + bend, one, x2 - bend, other, x2, other)
            path += "M{} {}C{} {} {} {} {} {}".format(*map(px_text, ends))
        if path:
            look = {"fill": "none", "stroke": "#000", "stroke-width": "1.2", "class": "thread"}
            self.add("path", {"d": path, **look})

    def clock_change(self, change: ClockChange, top: float, bottom: float) -> None:
        """Mark a change of the clocks: a zigzag where time is left out, a frame round the hours
        that come twice."""
        x = self.columns.px(change.at)
        look = {"fill": "none", "stroke": "#000", "stroke-width": "1.4", "class": "clocks"}
        if change.forward > timedelta():
            path = f"M{px_text(x)} {px_text(top)}" + "l3 4l-6 4l3 4" * int((bottom - top) / 12)
            self.add("path", {"d": path, **look})
            return
        left, right = (self.columns.px(change.at + n * change.forward) for n in (1, -1))
        self._box(left, right, top, bottom, look)

    def now(self, at: datetime, top: float, bottom: float) -> None:
        """Mark the moment the page was made."""
        if self.columns.covers(at):
            x = self.columns.px(at)
            self.line([(x, top), (x, bottom)], "now")

    def _wide_enough(self, span: Span) -> tuple[float, float]:
        left, right = map(self.columns.px, span)
        return left, max(right, left + LEAST_WORK_PX)

    def _box(
        self, left: float, right: float, top: float, bottom: float, look: dict[str, str]
    ) -> ET.Element:
        corner = {"x": px_text(left), "y": px_text(top)}
        size = {"width": px_text(right - left), "height": px_text(bottom - top)}
        return self.add("rect", {**corner, **size, **look})


def _tell(shape: ET.Element, said: str) -> None:
    """Give a shape the words that a pointer over it shows."""
    if said:
        ET.SubElement(shape, "title").text = said
