"""Rows as another program sends them: a list of objects, each with what a line of the file has.

A value is a text, a number, true or false (a file's yes and no), or null for a blank cell. Places
of faults are JSON pointers (RFC 6901) as URI fragments: "#/3/level".
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from finishing.services.csv_files import Sheet, unknown_column
from finishing.services.errors import Fault, InputFaults

LONGEST_NAME = 40
LARGEST_NUMBER = 1e12


@dataclass(slots=True)
class RowList(Sheet):
    """A sheet whose lines are the places of its rows in the list, from 0 on."""

    def place(self, line: int, column: str = "") -> str:
        return f"#/{line}" + (f"/{column}" if column else "")

    def nth(self, line: int) -> str:
        return f"#/{line}"

    def _at(self, line: int, column: str, text: str) -> Fault:
        return Fault(self.place(line, column), text)


def read_rows(rows: Any, *, required: tuple[str, ...], optional: tuple[str, ...] = ()) -> Sheet:
    """Read a list of rows; raise :class:`InputFaults` where there are none, or where none of them
    has a column that all need. Other faults are noted on the sheet."""
    if not isinstance(rows, list) or not rows:
        raise InputFaults([Fault("#", "is not a list of at least one row")])
    known = required + optional
    named = {name for row in rows if isinstance(row, Mapping) for name in row}
    sheet = RowList("", ",", tuple(name for name in known if name in named), [])
    for number, row in enumerate(rows):
        _add_row(sheet, number, row, known)
    if missing := [name for name in required if name not in named]:
        for name in missing:
            sheet.fault(0, name, "is missing, in all rows")
        sheet.raise_faults()
    return sheet


def _add_row(sheet: RowList, number: int, row: Any, known: Sequence[str]) -> None:
    if not isinstance(row, Mapping):
        sheet.fault(number, "", "is not an object")
        return
    for name in row.keys() - set(known):
        sheet.fault(number, "", unknown_column(name[:LONGEST_NAME], tuple(known)))
    cells = {name: _cell(sheet, number, name, row.get(name)) for name in sheet.columns}
    sheet.rows.append((number, cells))


def _cell(sheet: RowList, number: int, name: str, value: Any) -> str:
    """Return a value as a line of a file has it; blank, with a fault noted, where none has."""
    match value:
        case None:
            return ""
        case str():
            return value.strip()
        case bool():
            return "yes" if value else "no"
        case int() | float() if abs(value) <= LARGEST_NUMBER:
            return _plain(value)
        case int() | float():
            sheet.fault(number, name, "is no number that a column can have")
        case _:
            sheet.fault(number, name, "is neither a text, a number, true, false nor null")
    return ""


def _plain(value: float) -> str:
    """Return a number without an exponent."""
    text = f"{value:.9f}"
    return text.rstrip("0").rstrip(".")
