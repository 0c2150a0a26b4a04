"""The course of a run: plans as steps, each search for itself."""

from xml.etree import ElementTree as ET

from api.web.run_chart import BOTTOM, LEFT, RIGHT, TOP, run_chart
from scheduling.services.run_progress import Best, Found

DAY = 24 * 60


def found(at: float, days: int, *, search: int = 0, bound: int = 0) -> Found:
    return Found(at, search, Best(days * DAY, bound * DAY, 4, 30, at))


def courses(markup: str, look: str) -> list[list[tuple[float, float]]]:
    lines = [line for line in ET.fromstring(markup).iter("polyline") if line.get("class") == look]
    pairs = [[pair.split(",") for pair in line.get("points", "").split()] for line in lines]
    return [[(float(x), float(y)) for x, y in points] for points in pairs]


def test_one_plan_is_no_course() -> None:
    assert run_chart([], 1.0) is None
    assert run_chart([found(1.0, 3)], 4.0) is None


def test_a_plan_holds_until_the_next_and_the_last_until_now() -> None:
    chart = run_chart([found(0.0, 10), found(5.0, 0)], 10.0)
    assert chart
    middle = (LEFT + RIGHT) / 2
    expected = [(LEFT, TOP), (middle, TOP), (middle, BOTTOM), (RIGHT, BOTTOM)]
    assert courses(chart.markup, "past") == [expected]


def test_each_search_is_drawn_for_itself_with_what_no_plan_comes_below() -> None:
    plans = [found(0.0, 10), found(2.0, 8), found(6.0, 9, search=1, bound=5)]
    chart = run_chart(plans, 8.0)
    assert chart
    first, second = courses(chart.markup, "past")
    assert first[-1][0] == second[0][0], "the first holds until the second has a plan"
    assert first[-1][1] > second[0][1], "nine days are above eight, which is not joined up"
    lower, higher = courses(chart.markup, "least")
    assert lower[0][1] > higher[0][1]


def test_a_run_of_hours_has_its_last_plan_inside() -> None:
    chart = run_chart([found(0.0, 1), found(7200.0, 1)], 3600.0)
    assert chart
    assert courses(chart.markup, "past")[0][-1][0] == RIGHT
