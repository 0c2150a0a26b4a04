"""CSV that no spreadsheet takes for formulas: what starts one is listed by OWASP, CSV Injection
(from memory): = + - @, tab and carriage return."""

import csv
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.services.harmless_csv import BYTE_ORDER_MARK, harmless_csv


def read(text: str) -> list[list[str]]:
    return list(csv.reader(StringIO(text.removeprefix(BYTE_ORDER_MARK), newline="")))


@pytest.mark.parametrize("word", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "  =1"])
def test_what_looks_like_a_formula_is_text(word: str) -> None:
    assert read(harmless_csv(["House"], [[word]])) == [["House"], [f"'{word}"]]


def test_numbers_stay_numbers() -> None:
    assert read(harmless_csv(["K"], [[-1.5], [3]])) == [["K"], ["-1.5"], ["3"]]


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2)))
def test_any_words_come_back_but_for_the_apostrophe(rows: list[list[str]]) -> None:
    found = read(harmless_csv(["a", "b"], rows))[1:]
    assert [[cell.removeprefix("'") for cell in row] for row in found] == [
        [cell.removeprefix("'") for cell in row] for row in rows
    ]
