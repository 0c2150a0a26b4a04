"""Charts as SVG: known points at known places, nothing outside, words that stay words."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.web.charts import BAND_LOOKS, LOOKS, Drawing, pattern_markup, text_width
from api.web.coat_charts import DrawnCoat, coat_chart, key_chart
from api.web.figure_charts import Level, bar_chart, series_chart
from api.web.time_charts import (
    LEFT,
    RIGHT,
    AirStretch,
    Period,
    Words,
    joined,
)

DUBLIN = ZoneInfo("Europe/Dublin")
START = datetime(2026, 3, 2, tzinfo=UTC)
HOUR = timedelta(hours=1)
WORDS = Words("hall", "Hall", "How its coats dry")
hours = st.floats(-50, 400, allow_nan=False)


def period(now_hour: float = 100.0, last_hour: float = RIGHT - LEFT) -> Period:
    """Hours as wide as a pixel; 48 of them on record."""
    air = [
        AirStretch(START, START + 48 * HOUR, "record", "record"),
        AirStretch(START + 48 * HOUR, START + last_hour * HOUR, "assumed", "assumed"),
    ]
    return Period(
        START, START + last_hour * HOUR, START + now_hour * HOUR, "now", DUBLIN, day_words, air
    )


def day_words(day: date) -> str:
    return f"{day.day} {day:%b}"


def of_class(markup: str, look: str) -> list[ET.Element]:
    return [part for part in ET.fromstring(markup).iter() if part.get("class") == look]


def points(element: ET.Element) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in element.get("points", "").split())
    return [(float(x), float(y)) for x, y in pairs]


def edges(element: ET.Element) -> list[tuple[float, float]]:
    """Return the outermost points of a shape or of words; words as wide as they may be."""
    if element.tag == "text":
        x, width = float(element.get("x", "")), text_width(element.text or "")
        left = x - {"start": 0, "middle": width / 2, "end": width}[element.get("text-anchor", "")]
        y = float(element.get("y", ""))
        return [(left, y - 9), (left + width, y + 3)]
    if element.tag == "rect":
        x, y, width, height = (float(element.get(n, "")) for n in ("x", "y", "width", "height"))
        return [(x, y), (x + width, y + height)]
    if element.tag == "circle":
        x, y, r = (float(element.get(name, "")) for name in ("cx", "cy", "r"))
        return [(x - r, y - r), (x + r, y + r)]
    return points(element)


def assert_inside(markup: str) -> None:
    root = ET.fromstring(markup)
    _, _, width, height = (float(side) for side in root.get("viewBox", "").split())
    for element in root.iter():
        for x, y in edges(element):
            assert -0.1 <= x <= width + 0.1, ET.tostring(element)
            assert -0.1 <= y <= height + 0.1, ET.tostring(element)


def coat(first: float, dry: float, *, least: float, following: float, number: int = 1) -> DrawnCoat:
    """A coat that dries evenly between two hours."""
    dryness = [(START + (first + k * (dry - first) / 40) * HOUR, k / 40) for k in range(41)]
    at = {name: START + hour * HOUR for name, hour in (("least", least), ("next", following))}
    ready = max(dryness[-1][0], at["least"])
    return DrawnCoat(number, dryness, at["least"], ready, at["next"])


def test_a_coat_stands_where_its_hours_and_its_dryness_say() -> None:
    markup = coat_chart(WORDS, period(now_hour=20), [coat(10, 50, least=34, following=74)])
    (past,), (to_come,) = of_class(markup, "past"), of_class(markup, "to-come")
    assert points(past)[0] == (LEFT + 10, 118.0), "0 % at the foot, one pixel an hour"
    assert points(past)[-1] == (LEFT + 20, 98.0) == points(to_come)[0], "a quarter dry by now"
    assert points(to_come)[-1] == (LEFT + 50, 38.0), "100 % at the top"
    (dot,), (arrow,) = of_class(markup, "dot"), of_class(markup, "arrow")
    assert (dot.get("cx"), dot.get("cy")) == (f"{LEFT + 50:g}", "38")
    assert points(arrow)[0] == (LEFT + 74, 118.0)
    (diamond,) = of_class(markup, "diamond")
    assert points(diamond)[1] == (LEFT + 34 + 5.5, 70.0), "on the line, 60 % dry by then"


def test_a_coat_that_the_next_one_covers_wet_ends_there_and_is_never_ready() -> None:
    wet = coat(10, 50, least=34, following=40)
    covered = DrawnCoat(1, wet.dryness[:31], wet.least_at, wet.ready_at, wet.next_at)
    markup = coat_chart(WORDS, period(now_hour=5), [covered])
    (line,) = of_class(markup, "to-come")
    assert points(line)[-1] == (LEFT + 40, 58.0), "three quarters dry when it is covered"
    assert len(of_class(markup, "diamond")) == len(of_class(markup, "arrow")) == 1
    assert of_class(markup, "dot") == of_class(markup, "kept") == []
    assert len(of_class(coat_chart(WORDS, period(now_hour=5), [wet]), "dot")) == 1


def test_what_has_been_and_what_is_to_come_differ_without_colour() -> None:
    assert "stroke-dasharray" not in LOOKS["past"]
    dashes = [look["stroke-dasharray"] for look in LOOKS.values() if "stroke-dasharray" in look]
    assert len(dashes) == len(set(dashes)) == 4, "to come, now, late, least"
    assert len(set(BAND_LOOKS.values())) == len(BAND_LOOKS)


@given(
    st.lists(st.tuples(hours, hours, hours, hours), min_size=1, max_size=5),
    st.floats(-30, 400),
)
def test_nothing_of_a_room_stands_outside_its_drawing(
    drawn: Sequence[tuple[float, float, float, float]], now_hour: float
) -> None:
    coats = [
        coat(min(a, b), max(a, b) + 1, least=c, following=d, number=n)
        for n, (a, b, c, d) in enumerate(drawn, 1)
    ]
    assert_inside(coat_chart(WORDS, period(now_hour), coats))


@given(st.lists(st.floats(-40, 60), min_size=2, max_size=700), st.floats(-30, 400))
def test_nothing_of_a_figure_stands_outside_its_drawing(
    values: list[float], now_hour: float
) -> None:
    moments = [(START + number * HOUR, value) for number, value in enumerate(values)]
    markup = series_chart(
        WORDS, period(now_hour), moments, unit=" °C", least=Level(10, "10 °C, least")
    )
    assert_inside(markup)
    assert all(
        len(points(line)) <= 200 for look in ("past", "to-come") for line in of_class(markup, look)
    )


def test_a_figure_stands_between_the_ticks_around_it() -> None:
    moments = [(START, 11.0), (START + 100 * HOUR, 15.0), (START + 200 * HOUR, 19.0)]
    markup = series_chart(WORDS, period(), moments, unit=" °C")
    (past,) = of_class(markup, "past")
    assert points(past) == [(LEFT, 103.0), (LEFT + 100, 67.0)]
    named = [element.text for element in of_class(markup, "words")]
    assert [name for name in named if name and "°C" in name] == ["10 °C", "15 °C", "20 °C"]


def test_dryers_stand_as_bars_with_their_count() -> None:
    days = [(START + 24 * k * HOUR, START + 24 * (k + 1) * HOUR, float(k % 3)) for k in range(4)]
    markup = bar_chart(WORDS, period(), days)
    bars = of_class(markup, "dryers")
    assert [bar.get("width") for bar in bars] == ["24", "24"], "none where none stands"
    assert [float(bar.get("height", "")) for bar in bars] == [24.0, 48.0]
    assert_inside(markup)


def test_the_key_and_the_patterns_tell_of_all_kinds_of_air() -> None:
    kinds = {kind: kind for kind in BAND_LOOKS}
    markup = key_chart(WORDS, {"past": "so far", "dot": "ready", "arrow": "next"}, kinds)
    assert_inside(markup)
    fills = {bar.get("fill") for bar in of_class(markup, "air")}
    defined = {
        f"url(#{part.get('id')})" for part in ET.fromstring(pattern_markup()).iter("pattern")
    }
    assert fills == defined | {"#fff"}


def test_now_is_left_out_where_the_chart_ends_before_it() -> None:
    assert of_class(series_chart(WORDS, period(300), [(START, 1.0)], unit=""), "now") == []
    assert len(of_class(series_chart(WORDS, period(30), [(START, 1.0)], unit=""), "now")) == 1


def test_words_stay_words() -> None:
    name = '<script>alert("r&b")</script>'
    words = Words("hall", name, name)
    markup = coat_chart(words, period(), [coat(10, 50, least=34, following=74)])
    assert "<script" not in markup
    root = ET.fromstring(markup)
    assert root.findtext("title") == root.findtext("desc") == name
    assert root.get("role") == "img"
    drawing = Drawing('a"><script>', title=name, description=name, width=10, height=10)
    drawing.text(5, 5, name)
    assert "<script" not in drawing.markup()


def test_words_at_the_edge_are_moved_inside() -> None:
    drawing = Drawing("edge", title="", description="", width=100, height=20)
    drawing.text(99, 10, "wide words")
    assert_inside(drawing.markup())


def test_neighbours_of_a_kind_are_one_stretch() -> None:
    stretches = [
        AirStretch(START + n * HOUR, START + (n + 1) * HOUR, kind, kind)
        for n, kind in enumerate(["record", "record", "assumed", "record"])
    ]
    found = [(s.kind, (s.last - s.first) / HOUR) for s in joined(stretches)]
    assert found == [("record", 2), ("assumed", 1), ("record", 1)]


@pytest.mark.parametrize("moments", [[], [(START, 3.0)]])
def test_a_line_needs_two_points(moments: list[tuple[datetime, float]]) -> None:
    markup = series_chart(WORDS, period(), moments, unit=" kg", ends=(0, 5))
    assert of_class(markup, "past") == []
