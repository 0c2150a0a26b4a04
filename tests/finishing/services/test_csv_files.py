"""Reading spreadsheets' CSV files; the frame of a file and single cells (RFC 4180 for quoting)."""

from datetime import date

import pytest

from finishing.rules.vocabulary import Family
from finishing.services.cells import Cells, cells_of_row, gathered
from finishing.services.csv_files import Sheet, read_csv
from finishing.services.errors import InputFaults


def read(content: bytes | str) -> Sheet:
    raw = content if isinstance(content, bytes) else content.encode()
    return read_csv(name="t.csv", content=raw, required=("room", "level"), optional=("note",))


def refused(content: bytes | str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        read(content).raise_faults()
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators(separator: str) -> None:
    sheet = read(f"room{separator}level\nHall{separator}4\n")
    assert sheet.rows == [(2, {"room": "Hall", "level": "4"})]


def test_byte_order_mark_capitals_and_spaces_in_the_header() -> None:
    assert read(b"\xef\xbb\xbf Room ,LEVEL,,\nHall,4,,\n").columns == ("room", "level")


def test_lines_count_right_after_blank_lines_and_quoted_line_ends() -> None:
    sheet = read('room,level,note\r\n\r\n"Hall",4,"one\r\ntwo"\r\n,,\r\nDen,5\r\n')
    assert [(line, row["room"]) for line, row in sheet.rows] == [(3, "Hall"), (6, "Den")]
    assert sheet.rows[0][1]["note"] == "one\r\ntwo"
    assert sheet.rows[1][1]["note"] == ""


def test_formula_is_plain_text() -> None:
    assert read("room,level\n=1+1,4\n").rows[0][1]["room"] == "=1+1"


def test_windows_encoding_is_named_with_what_to_do() -> None:
    [fault] = refused("room,level\nCafé,4\n".encode("cp1252"))
    assert fault.startswith("t.csv line 2: the file is not UTF-8 (byte 0xe9; perhaps Windows-1252)")
    assert 'save it as "CSV UTF-8"' in fault


def test_utf_16_is_named() -> None:
    assert "is UTF-16" in refused("room,level\nHall,4\n".encode("utf-16"))[0]


def test_no_text_at_all() -> None:
    assert "is not text" in refused(b"room\0level")[0]


@pytest.mark.parametrize("content", ["", "\n\n", " , \n"])
def test_empty_file(content: str) -> None:
    assert refused(content) == ["t.csv: the file is empty"]


def test_header_only() -> None:
    assert "no row below" in refused("room,level\n")[0]


def test_all_faults_of_a_header_together() -> None:
    assert refused("rom,note,note,,zebra\n1,2,3,4,5\n") == [
        "t.csv line 1: column 'note' is there 2 times",
        "t.csv line 1: unknown column 'rom': did you mean 'room'?",
        "t.csv line 1: a column has no name",
        "t.csv line 1: unknown column 'zebra': known are room, level, note",
        "t.csv line 1: column 'room' is missing",
        "t.csv line 1: column 'level' is missing",
    ]


def test_too_many_cells() -> None:
    [fault] = refused("room,level\nHall,4,extra\nDen,4,,\n")
    assert fault.startswith("t.csv line 2: more cells than the header has columns ('extra')")


def test_quote_that_never_closes() -> None:
    assert "t.csv line 2: not a CSV row" in refused('room,level\n"Hall,4\n')[0]


def cells(separator: str = ",", **values: str) -> Cells:
    sheet = Sheet("t.csv", separator, tuple(values), [])
    return cells_of_row(sheet, 7, values)


def faults_of(row: Cells) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        row.sheet.raise_faults()
    return [str(fault) for fault in caught.value.faults]


def test_numbers() -> None:
    row = cells(a="12.5", b="-3", c="", d="0", e=".5")
    assert [row.number(c) for c in "abcde"] == [12.5, -3.0, None, 0.0, 0.5]
    assert cells(";", a="12,5").number("a") == 12.5
    assert not row.sheet.has_faults


@pytest.mark.parametrize("text", ["twelve", "12,5", "1.2.3", "nan", "inf", "1e5", "=2*3", "12 m"])
def test_text_where_a_number_belongs(text: str) -> None:
    row = cells(a=text)
    assert row.number("a") is None
    assert faults_of(row) == [f"t.csv line 7, column a: {text!r} is not a number such as 12.5"]


def test_thousands_are_not_guessed() -> None:
    row = cells(";", a="1.234,5")
    assert row.number("a") is None
    assert row.sheet.has_faults


def test_bounds() -> None:
    row = cells(a="-1", b="0", c="101", d="1.5")
    assert row.number("a", least=0) is row.number("b", above=0) is row.number("c", most=100) is None
    assert row.whole("d") is None
    assert faults_of(row) == [
        "t.csv line 7, column a: -1 must not be below 0",
        "t.csv line 7, column b: 0 must be more than 0",
        "t.csv line 7, column c: 101 must not be above 100",
        "t.csv line 7, column d: 1.5 is not a whole number",
    ]


def test_days_yes_and_choices() -> None:
    row = cells(a="2026-03-02", b="Yes", c="NO", d="as/nzs 2589")
    assert row.day("a") == date(2026, 3, 2)
    assert (row.yes("b"), row.yes("c")) == (True, False)
    assert row.choice("d", Family) is Family.ASNZS2589


@pytest.mark.parametrize("text", ["02/03/2026", "2026-02-30", "20260302", "2026-W10-1", "soon"])
def test_other_dates_are_refused(text: str) -> None:
    row = cells(a=text)
    assert row.day("a") is None
    assert faults_of(row) == [
        f"t.csv line 7, column a: {text!r} is not a date written as YYYY-MM-DD"
    ]


def test_neither_yes_nor_a_choice() -> None:
    row = cells(a="maybe", b="DIN")
    assert row.yes("a") is None
    assert row.choice("b", Family) is None
    assert faults_of(row) == [
        "t.csv line 7, column a: 'maybe' is neither yes nor no",
        "t.csv line 7, column b: 'DIN' is not one of GA-214, AS/NZS 2589, Q",
    ]


def test_gathered_values_keep_their_line_and_must_agree() -> None:
    sheet = Sheet("t.csv", ",", ("a", "b"), [])
    rows = [
        cells_of_row(sheet, 2, {"a": "", "b": "1"}),
        cells_of_row(sheet, 3, {"a": "x", "b": "1"}),
        cells_of_row(sheet, 4, {"a": "y", "b": ""}),
    ]
    both = gathered(rows, ("a", "b"))
    assert both.number("a") is None
    assert faults_of(both) == [
        "t.csv line 3, column a: 'x' is not a number such as 12.5",
        "t.csv line 4, column a: 'y' here but 'x' on line 3",
    ]
