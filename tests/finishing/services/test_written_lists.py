"""Openings and days as people write them in one cell."""

from datetime import date

import pytest

from finishing.rules.room_shapes import Opening
from finishing.services.day_list import read_days
from finishing.services.opening_text import read_openings


def test_openings() -> None:
    assert read_openings("0.9x2.1; 1.2 x 1.4 @ 0.9 on 3 Lined;") == (
        Opening(0.9, 2.1),
        Opening(1.2, 1.4, 0.9, lined=True, wall=3),
    )
    assert read_openings("") == ()
    assert read_openings("0,9x2,1") == read_openings("0.9x2.1")


@pytest.mark.parametrize("text", ["0.9", "-1x2", "1x2 on 4", "1x2 linen"])
def test_what_is_no_opening_is_named(text: str) -> None:
    with pytest.raises(ValueError, match="an opening is written as") as caught:
        read_openings(f"0.9x2.1; {text}; what")
    assert str(caught.value).startswith(f"{text!r}, 'what'")


def test_days_in_order_and_each_once() -> None:
    assert read_days("2026-12-31..2027-01-02; 2026-12-24; 2027-01-01") == (
        date(2026, 12, 24),
        date(2026, 12, 31),
        date(2027, 1, 1),
        date(2027, 1, 2),
    )


@pytest.mark.parametrize(
    "text", ["24/12/2026", "2026-02-30", "2026-01-02..2026-01-01", "2020-01-01..2026-01-01", "a..b"]
)
def test_what_is_no_day_is_named(text: str) -> None:
    with pytest.raises(ValueError, match="days are written as") as caught:
        read_days(f"2026-12-24; {text}")
    assert str(caught.value).startswith(repr(text))
