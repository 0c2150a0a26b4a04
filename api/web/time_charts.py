"""Charts over time: what all of them share. Pure."""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from api.web.charts import Drawing, band_fill, text_width
from api.web.scales import Scale, TimeScale, day_ticks, thinned

WIDTH, LEFT, RIGHT = 320.0, 44.0, 312.0
_DAYS_NAMED = 6
_BAND_PX = 9.0
_UNDER_BAND_PX = 27.0
"""For the words of the air and the days."""

type Moments = Sequence[tuple[datetime, float]]


@dataclass(frozen=True)
class AirStretch:
    """Hours whose air rests on the same kind of knowledge, a key of ``charts.BAND_LOOKS``."""

    first: datetime
    last: datetime
    kind: str
    words: str


@dataclass(frozen=True)
class Period:
    """What a chart's time axis shows. Instants are aware; days are those of ``zone``."""

    first: datetime
    last: datetime
    now: datetime
    now_words: str
    zone: ZoneInfo
    day_words: Callable[[date], str]
    air: Sequence[AirStretch]


@dataclass(frozen=True)
class Words:
    """How a chart is called (``name`` starts its ids), what it shows in a sentence or two."""

    name: str
    title: str
    description: str


class TimeChart:
    """A drawing with a plot between ``top`` and ``bottom``, and ``gap`` under it days and air."""

    def __init__(
        self, words: Words, period: Period, *, top: float, bottom: float, gap: float = 5.0
    ) -> None:
        self._band_px = bottom + gap
        height = self._band_px + _BAND_PX + _UNDER_BAND_PX
        self.drawing = Drawing(
            words.name, title=words.title, description=words.description, width=WIDTH, height=height
        )
        self.period = period
        self.top, self.bottom = top, bottom
        self.time = TimeScale(period.first, period.last, LEFT, RIGHT)
        self._days()
        self._air()

    def levels(self, ticks: Sequence[float], scale: Scale, name: Callable[[float], str]) -> None:
        """Draw a level line with its name for each tick."""
        for tick in ticks:
            y = scale.px(tick)
            self.drawing.line([(LEFT, y), (RIGHT, y)], "grid")
            self.drawing.text(LEFT - 3, y + 4, name(tick), anchor="end")

    def curve(self, moments: Moments, scale: Scale) -> None:
        """Draw what has been as a full line, what is to come as a dashed one."""
        shown = within(moments, self.period.first, self.period.last)
        parts = _split(shown, self.period.now)
        for part, look in zip(parts, ("past", "to-come"), strict=True):
            self.drawing.line(
                [(self.time.px(at), scale.px(value)) for at, value in thinned(part)], look
            )

    def now(self) -> None:
        """Mark the moment the chart was made; last, so that it lies over the lines."""
        if self.time.covers(self.period.now):
            x = self.time.px(self.period.now)
            self.drawing.line([(x, self.top - 4), (x, self.bottom)], "now")
            self.drawing.text(x, 11, self.period.now_words)

    def _days(self) -> None:
        period = self.period
        self.drawing.line([(LEFT, self.bottom), (RIGHT, self.bottom)], "axis")
        for instant, day in day_ticks(period.first, period.last, period.zone, most=_DAYS_NAMED):
            x = self.time.px(instant)
            self.drawing.line([(x, self.top), (x, self.bottom + 3)], "grid")
            self.drawing.text(x, self.drawing.height - 3, period.day_words(day))

    def _air(self) -> None:
        """Draw what the air rests on as a strip; words where the stretch is wide enough."""
        top = self._band_px
        for stretch in self.period.air:
            left, right = self.time.px(stretch.first), self.time.px(stretch.last)
            self.drawing.bar(
                (left, top), (right, top + _BAND_PX), "air", fill=band_fill(stretch.kind)
            )
            if text_width(stretch.words) <= right - left:
                self.drawing.text((left + right) / 2, top + _BAND_PX + 11, stretch.words)


def _split(moments: Moments, now: datetime) -> tuple[Moments, Moments]:
    """Return what lies before ``now`` and after it, both with the value at ``now``."""
    if not moments or now <= moments[0][0]:
        return [], moments
    return within(moments, moments[0][0], now), within(moments, now, moments[-1][0])


def within(moments: Moments, first: datetime, last: datetime) -> Moments:
    """Return the moments from ``first`` to ``last``, with the values at these two where they lie
    between two others."""
    if not moments or last < moments[0][0] or first > moments[-1][0]:
        return []
    begin, end = max(first, moments[0][0]), min(last, moments[-1][0])
    inner = [moment for moment in moments if begin < moment[0] < end]
    ends = [(at, value_at(moments, at)) for at in dict.fromkeys((begin, end))]
    return [ends[0], *inner, *ends[1:]]


def value_at(moments: Moments, at: datetime) -> float:
    """Return the value at an instant, on the straight line between its neighbours; beyond the
    ends that of the nearer end."""
    place = bisect_left(moments, at, key=lambda moment: moment[0])
    if place == 0 or place == len(moments):
        return moments[min(place, len(moments) - 1)][1]
    (one_at, one), (other_at, other) = moments[place - 1], moments[place]
    return one + (other - one) * ((at - one_at) / (other_at - one_at))


def joined(stretches: Sequence[AirStretch]) -> list[AirStretch]:
    """Return stretches with neighbours of one kind as one."""
    kept = list(stretches[:1])
    for one, other in pairwise(stretches):
        if one.kind == other.kind:
            kept[-1] = AirStretch(kept[-1].first, other.last, other.kind, other.words)
        else:
            kept.append(other)
    return kept
