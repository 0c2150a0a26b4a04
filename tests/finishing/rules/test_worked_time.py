"""Time at work without breaks, worked by hand."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.rules.worked_time import worked_minutes

DAY = datetime(2026, 3, 2, tzinfo=UTC)
HOURS = [
    (DAY + timedelta(hours=13), DAY + timedelta(hours=16)),
    (DAY + timedelta(hours=7), DAY + timedelta(hours=12)),
]


def at(hour: float) -> datetime:
    return DAY + timedelta(hours=hour)


@pytest.mark.parametrize(
    ("start", "end", "minutes"),
    [
        (7, 12, 300),
        (7, 16, 480),
        (6.5, 17, 570),  # what is worked outside the hours counts
        (7, 12.5, 300),
        (12.25, 12.75, 0),
        (12.5, 14, 60),
    ],
)
def test_the_break_is_no_work(start: float, end: float, minutes: int) -> None:
    assert worked_minutes(at(start), at(end), HOURS) == minutes


def test_without_hours_all_is_work() -> None:
    assert worked_minutes(at(8), at(9.99), []) == 119


def test_an_end_before_its_start() -> None:
    with pytest.raises(ValueError, match="before the start"):
        worked_minutes(at(9), at(8), HOURS)


@given(*(st.integers(0, 1440) for _ in range(3)))
def test_two_halves_are_the_whole(one: int, two: int, three: int) -> None:
    first, middle, last = (DAY + timedelta(minutes=n) for n in sorted((one, two, three)))
    parts = worked_minutes(first, middle, HOURS) + worked_minutes(middle, last, HOURS)
    assert parts == worked_minutes(first, last, HOURS)
