"""Lists of houses: a row's houses come in the order in which they stand."""

from datetime import date

from finishing.models import House
from finishing.queries.houses import by_handover, by_name


def _house(name: str, day: int = 1) -> House:
    return House(name=name, handover_on=date(2026, 3, day))


def test_row_2_comes_before_row_10_whatever_the_case() -> None:
    rows = [_house(name) for name in ("Row 10", "row 2", "Row 1", "Ash", "12 Row", "9 Row")]
    assert [house.name for house in by_name(rows)] == [
        "9 Row",
        "12 Row",
        "Ash",
        "Row 1",
        "row 2",
        "Row 10",
    ]


def test_the_day_counts_before_the_name() -> None:
    rows = [_house("Row 10", 3), _house("Row 2", 3), _house("Row 11", 2)]
    assert [house.name for house in by_handover(rows)] == ["Row 11", "Row 2", "Row 10"]
