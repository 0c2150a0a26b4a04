"""The shapes that a drawn plan is made of: days, work, the drying after it. Pure."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import pairwise

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
    def link(self, href: str, said: str) -> Iterator[None]:
        """Make what is drawn meanwhile a link with these words."""
        with self.inside("a", {"href": href, "aria-label": said}):
            self.add("title", {}).text = said
            yield

    def days(self, top: float, bottom: float) -> None:
        """Draw a line between each two days."""
        path = "".join(
            f"M{px_text(x)} {px_text(top)}V{px_text(bottom)}" for x in self.columns.edges
        )
        self.add("path", {"d": path, "class": "grid", "stroke": "#999", "stroke-width": "0.6"})

    def day_band(self, number: int, top: float, bottom: float, look: str) -> None:
        """Fill a day's column with a weave (``off``) or, for ``today``, with a light grey."""
        left, right = self.columns.edges[number : number + 2]
        grey = "#eee" if look == "today" else fill(look)
        self._box(left, right, top, bottom, {"fill": grey, "class": look})

    def work(self, span: Span, top: float, bottom: float, weave: str, *, held: bool) -> None:
        """Draw a visit, dashed round where crews have not been told of it."""
        left, right = map(self.columns.px, span)
        edge = {"stroke": "#000", "stroke-width": "1"}
        if held:
            edge |= {"stroke-dasharray": "3 2", "stroke-width": "1.6"}
        right = max(right, left + LEAST_WORK_PX)
        self._box(left, right, top, bottom, {"fill": fill(weave), "class": "work", **edge})

    def others(self, span: Span, top: float, bottom: float) -> None:
        """Draw the visit of another crew: hollow."""
        left, right = map(self.columns.px, span)
        edge = {"stroke": "#000", "stroke-width": "1", "fill": "#fff", "class": "others"}
        self._box(left, max(right, left + LEAST_WORK_PX), top, bottom, edge)

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

    def cold(self, spans: Iterable[Span], y: float) -> None:
        """Draw teeth along a line where the air is too cold for coats."""
        path = "".join(
            f"M{px_text(left)} {px_text(y)}h{px_text(right - left)}v5h{px_text(left - right)}z"
            for left, right in (map(self.columns.px, span) for span in spans)
            if right > left
        )
        if path:
            self.add("path", {"d": path, "fill": fill("cold"), "class": "cold"})

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

    def _box(
        self, left: float, right: float, top: float, bottom: float, look: dict[str, str]
    ) -> None:
        if right > left:
            corner = {"x": px_text(left), "y": px_text(top)}
            size = {"width": px_text(right - left), "height": px_text(bottom - top)}
            self.add("rect", {**corner, **size, **look})
