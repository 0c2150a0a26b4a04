"""Days as columns: work wide, nights narrow, and hours that are missing or come twice."""

from collections.abc import Collection
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.web.clock_changes import clock_changes
from api.web.day_columns import (
    IDLE_SHARE,
    NIGHT_SHARE,
    OFFICE_HOURS,
    DayColumns,
    WorkingHours,
)
from api.web.scales import day_begins

HOUR = timedelta(hours=1)
WEEK = [date(2026, 3, 2) + timedelta(days=n) for n in range(7)]
ZONES = ("Europe/Dublin", "America/New_York", "Australia/Lord_Howe", "America/Sao_Paulo", "UTC")


def columns(
    days: list[date],
    zone: str = "Europe/Dublin",
    *,
    hours: WorkingHours = OFFICE_HOURS,
    idle: Collection[date] = (),
) -> DayColumns:
    return DayColumns(days, ZoneInfo(zone), left=0.0, right=700.0, hours=hours, idle=idle)


def test_a_working_hour_has_the_same_width_all_day_and_night_hours_share_the_rest() -> None:
    drawn = columns(WEEK, hours=WorkingHours(7 * 60, 17 * 60))
    midnight = datetime(2026, 3, 2, tzinfo=UTC)
    widths = [
        drawn.px(midnight + (n + 1) * HOUR) - drawn.px(midnight + n * HOUR) for n in range(24)
    ]
    work, night = widths[7:17], widths[:7] + widths[17:]
    assert work == pytest.approx([100 * (1 - NIGHT_SHARE) / 10] * 10)
    assert night == pytest.approx([100 * NIGHT_SHARE / 14] * 14)


def test_a_day_without_work_is_narrow() -> None:
    drawn = columns(WEEK, idle=WEEK[5:])
    widths = [b - a for a, b in zip(drawn.edges, drawn.edges[1:], strict=False)]
    assert widths[5] == pytest.approx(IDLE_SHARE * widths[0])
    assert sum(widths) == pytest.approx(700)
    noon = datetime(2026, 3, 7, 12, tzinfo=UTC)
    assert drawn.px(noon) == pytest.approx((drawn.edges[5] + drawn.edges[6]) / 2)


@given(
    st.sampled_from(ZONES),
    st.dates(date(2015, 1, 1), date(2035, 1, 1)),
    st.integers(0, 12),
    st.integers(13, 24),
    st.sets(st.integers(0, 6)),
)
def test_time_never_runs_backwards_and_days_begin_at_their_edges(
    zone: str, first: date, opens: int, closes: int, idle: set[int]
) -> None:
    days = [first + timedelta(days=n) for n in range(7)]
    drawn = columns(
        days, zone, hours=WorkingHours(60 * opens, 60 * closes), idle=[days[n] for n in idle]
    )
    places = [drawn.px(drawn.first + n * HOUR / 4) for n in range(7 * 24 * 4 + 8)]
    assert places == sorted(places)
    for day, edge in zip(days, drawn.edges, strict=False):
        assert drawn.px(day_begins(day, ZoneInfo(zone))) == pytest.approx(edge)
    assert (drawn.px(drawn.first - HOUR), drawn.px(drawn.last + HOUR)) == (0.0, 700.0)


@pytest.mark.parametrize(
    ("day", "hours"),
    # The clocks of Ireland change at 01:00 UTC on these days: IANA time zone database, 2026.
    [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25)],
)
def test_a_day_that_is_not_divided_has_as_many_hours_as_it_lasts(day: date, hours: int) -> None:
    drawn = columns([day], idle=[day])
    begins = day_begins(day, ZoneInfo("Europe/Dublin"))
    assert drawn.last - begins == hours * HOUR
    for n in range(hours):
        assert drawn.px(begins + n * HOUR) == pytest.approx(n * 700 / hours)


@pytest.mark.parametrize(
    ("zone", "at", "before", "after", "minutes"),
    # IANA time zone database, 2026.
    [
        ("Europe/Dublin", "2026-03-29T01:00", "01:00", "02:00", 60),
        ("Europe/Dublin", "2026-10-25T01:00", "02:00", "01:00", -60),
        ("America/New_York", "2026-11-01T06:00", "02:00", "01:00", -60),
        ("Australia/Lord_Howe", "2026-04-04T15:00", "02:00", "01:30", -30),
    ],
)
def test_clock_changes_are_found_where_they_are(
    zone: str, at: str, before: str, after: str, minutes: int
) -> None:
    instant = datetime.fromisoformat(at).replace(tzinfo=UTC)
    week = timedelta(days=7, seconds=17)
    [found] = clock_changes(instant - week, instant + week, ZoneInfo(zone))
    assert found.at == instant
    assert (f"{found.before:%H:%M}", f"{found.after:%H:%M}") == (before, after)
    assert found.forward == timedelta(minutes=minutes)


def test_where_the_clocks_go_on_there_is_no_change() -> None:
    first = datetime(2026, 3, 2, tzinfo=UTC)
    assert list(clock_changes(first, first + timedelta(days=20), ZoneInfo("Europe/Dublin"))) == []
