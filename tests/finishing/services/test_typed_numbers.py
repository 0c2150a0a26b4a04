"""What counts as a number that somebody wrote."""

import pytest

from finishing.services.typed_numbers import number_of


@pytest.mark.parametrize(
    ("text", "number"), [("10", 10.0), ("12.5", 12.5), ("-3", -3.0), ("+.5", 0.5), ("4.", 4.0)]
)
def test_decimal_numbers_are_read(text: str, number: float) -> None:
    assert number_of(text) == number


@pytest.mark.parametrize(
    "text", ["", "1_0", "1_0.5", "1e3", "inf", "nan", "0x10", " 1", "1,5", "-", ".", "9" * 400]
)
def test_what_only_a_program_calls_a_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a number such as 12.5"):
        number_of(text)
