from datetime import time

import pytest

from finishing.rules.hours import HoursError, WeeklyWindow, parse_hours


def windows(*days: int, start: time, end: time) -> set[WeeklyWindow]:
    return {WeeklyWindow(day, start, end) for day in days}


def test_a_week_with_a_short_friday() -> None:
    assert set(parse_hours("mon-thu 07:00-15:30; fri 07:00-13:00")) == windows(
        0, 1, 2, 3, start=time(7), end=time(15, 30)
    ) | windows(4, start=time(7), end=time(13))


def test_a_break_makes_two_windows_in_order() -> None:
    assert parse_hours("Tue 12:30-15:30, 07:00-12:00") == (
        WeeklyWindow(1, time(7), time(12)),
        WeeklyWindow(1, time(12, 30), time(15, 30)),
    )


def test_days_joined_and_a_range_over_the_weekend() -> None:
    assert {w.weekday for w in parse_hours("mon+wed 8:00-9:00; sat-sun 8:00-9:00")} == {0, 2, 5, 6}
    assert {w.weekday for w in parse_hours("fri-mon 8:00-9:00")} == {4, 5, 6, 0}


def test_blank_is_no_hours() -> None:
    assert parse_hours("") == parse_hours(" ; ") == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("07:00-15:30", "no weekday"),
        ("mon", "no times"),
        ("monday 07:00-15:30", "'monday' is not a weekday"),
        ("mon-wed-fri 07:00-15:30", "not a weekday or a range"),
        ("mon 15:30-07:00", "ends before it starts"),
        ("mon 07:00-24:00", "not a time of day"),
        ("mon 7-15", "not a time window"),
        ("mon 07:00-12:00 11:00-15:00", "overlap on mon at 11:00"),
        ("mon-wed 07:00-12:00; tue 11:00-15:00", "overlap on tue at 11:00"),
    ],
)
def test_what_cannot_be_hours_is_said(text: str, said: str) -> None:
    with pytest.raises(HoursError, match=said):
        parse_hours(text)


def test_all_faults_at_once() -> None:
    with pytest.raises(HoursError) as caught:
        parse_hours("xyz 07:00-15:30; mon 9:00-8:00; tue")
    assert len(caught.value.faults) == 3
