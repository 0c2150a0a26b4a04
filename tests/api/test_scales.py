"""Values, instants and days on the axes of charts."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.web.scales import (
    MOST_POINTS,
    Scale,
    TimeScale,
    day_ticks,
    local_midnights,
    round_ticks,
    spread,
    thinned,
)

DUBLIN, SANTIAGO = ZoneInfo("Europe/Dublin"), ZoneInfo("America/Santiago")
figures = st.floats(-1e4, 1e4, allow_nan=False)


def test_a_scale_is_straight_and_stops_at_its_ends() -> None:
    scale = Scale(0.0, 1.0, 118.0, 38.0)
    assert [scale.px(value) for value in (0.0, 0.25, 1.0)] == [118.0, 98.0, 38.0]
    assert (scale.px(-3.0), scale.px(7.0)) == (118.0, 38.0)


@pytest.mark.parametrize(
    ("day", "hours"),
    [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25), (date(2026, 3, 2), 24)],
)
def test_a_day_is_as_wide_as_it_has_hours(day: date, hours: int) -> None:
    """Ireland goes to summer time on 29 March and back on 25 October 2026: IANA time zones."""
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    first, last = noon - timedelta(hours=36), noon + timedelta(hours=36)
    begins = [
        at for at in local_midnights(first, last, DUBLIN) if at.astimezone(DUBLIN).date() >= day
    ]
    scale = TimeScale(first, last, 0.0, 72.0)
    assert scale.px(begins[1]) - scale.px(begins[0]) == pytest.approx(hours)


def test_a_day_without_a_midnight_begins_at_its_first_hour() -> None:
    """Chile put its clocks from 0:00 to 1:00 on 6 September 2026: IANA time zones."""
    first = datetime(2026, 9, 5, 12, tzinfo=UTC)
    begins = list(local_midnights(first, first + timedelta(hours=48), SANTIAGO))
    assert begins[0].astimezone(SANTIAGO) == datetime(2026, 9, 6, 1, tzinfo=SANTIAGO)


@given(st.integers(1, 300), st.integers(2, 8))
def test_days_named_are_few_and_evenly_apart(days: int, most: int) -> None:
    first = datetime(2026, 3, 1, 7, tzinfo=UTC)
    ticks = day_ticks(first, first + timedelta(days=days), DUBLIN, most=most)
    named = [day for _, day in ticks]
    assert 1 <= len(named) <= max(most, -(-days // 28))
    assert len({(b - a).days for a, b in pairwise(named)}) <= 1


@given(figures, figures)
def test_round_ticks_enclose_what_they_are_for(one: float, other: float) -> None:
    low, high = sorted((one, other))
    ticks = round_ticks(low, high)
    slack = 1e-6 * max(1.0, abs(low), abs(high))
    assert ticks[0] <= low + slack
    assert ticks[-1] >= high - slack
    assert 2 <= len(ticks) <= 7
    assert ticks == sorted(set(ticks))


def test_round_ticks_are_round() -> None:
    assert round_ticks(11.2, 17.9, most=4) == [10.0, 15.0, 20.0]
    assert round_ticks(0.0, 0.0) == [0.0, 1.0]
    assert round_ticks(0, 100, most=4) == [0.0, 50.0, 100.0]


@given(st.lists(st.floats(-50, 50), max_size=900))
def test_a_thinned_line_keeps_its_ends_its_peaks_and_its_order(values: list[float]) -> None:
    points = list(enumerate(values))
    kept = thinned(points)
    assert len(kept) <= MOST_POINTS
    assert kept == points or len(points) > MOST_POINTS
    assert (kept[:1], kept[-1:]) == (points[:1], points[-1:])
    assert sorted(set(kept)) == kept, "each once, in the order in which they come"
    for end in (min, max):
        assert end([value for _, value in kept], default=0) == end(values, default=0)


@given(st.lists(st.floats(0, 300), max_size=12))
def test_labels_are_apart_and_not_past_the_end(places: list[float]) -> None:
    moved = spread(sorted(places), apart=12.0, high=312.0)
    assert all(later - earlier >= 12.0 - 1e-9 for earlier, later in pairwise(moved))
    assert all(place <= 312.0 for place in moved)


def test_labels_that_are_apart_stay_where_they_are() -> None:
    assert spread([10.0, 30.0, 299.0], apart=12.0, high=312.0) == [10.0, 30.0, 299.0]
    assert spread([10.0, 11.0, 311.0, 311.0], apart=12.0, high=312.0) == [10.0, 22.0, 300.0, 312.0]
