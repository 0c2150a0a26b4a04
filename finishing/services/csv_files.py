"""A spreadsheet's CSV file: its encoding, separator, header and rows, with the faults of each.

Every value leaves as text; ``finishing.services.cells`` reads it as a number, a date and so on.
A cell that looks like a formula is text like any other.
"""

import csv
import difflib
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from finishing.services.errors import Fault, InputFaults

SEPARATORS = (",", ";", "\t")
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")


@dataclass(slots=True)
class Sheet:
    """A table that is being read: its name, columns, rows and the faults found so far."""

    name: str
    separator: str
    columns: tuple[str, ...]
    rows: list[tuple[int, dict[str, str]]]
    """Line number in the file and the cells by column; a missing cell is blank."""
    _faults: dict[tuple[int, Fault], None] = field(default_factory=dict)

    def place(self, line: int, column: str = "") -> str:
        """Return "houses.csv line 14, column level"."""
        return f"{self.name} line {line}" + (f", column {column}" if column else "")

    def nth(self, line: int) -> str:
        """Name a line of the same file: "line 3"."""
        return f"line {line}"

    def fault(self, line: int, column: str, text: str) -> None:
        """Note a fault; the same fault of the same place counts once."""
        self._faults[line, self._at(line, column, text)] = None

    def _at(self, line: int, column: str, text: str) -> Fault:
        return Fault(self.place(line, column), text, line, column)

    @property
    def has_faults(self) -> bool:
        return bool(self._faults)

    def raise_faults(self) -> None:
        """Raise :class:`InputFaults` in order of line if any fault was noted."""
        if self._faults:
            raise InputFaults(fault for _, fault in sorted(self._faults, key=lambda f: f[0]))


def read_csv(
    *, name: str, content: bytes, required: tuple[str, ...], optional: tuple[str, ...] = ()
) -> Sheet:
    """Read a CSV file; raise :class:`InputFaults` where its frame (not its cells) is broken.

    Rows with too many cells are noted on the sheet, to be reported with the faults of the cells.
    """
    text = _decode(name, content)
    separator = _separator(text)
    records = _records(name, text, separator)
    header = next(records, None)
    if header is None:
        raise InputFaults([Fault(name, "the file is empty")])
    line, titles = header
    columns = _columns(name, line, titles, required, optional)
    sheet = Sheet(name, separator, columns, [])
    for row_line, cells in records:
        _add_row(sheet, row_line, cells)
    if not sheet.rows:
        raise InputFaults([Fault(name, "there is a header but no row below it")])
    return sheet


def _decode(name: str, content: bytes) -> str:
    if content.startswith(_UTF16_MARKS):
        raise _wrong_encoding(name, "is UTF-16")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        byte = content[error.start]
        said = f"is not UTF-8 (byte 0x{byte:02x}; perhaps Windows-1252)"
        raise _wrong_encoding(f"{name} line {line}", said, line) from None
    if "\0" in text:
        raise _wrong_encoding(name, "is not text")
    return text


def _wrong_encoding(place: str, what: str, line: int = 0) -> InputFaults:
    return InputFaults([Fault(place, f'the file {what}: save it as "CSV UTF-8"', line)])


def _separator(text: str) -> str:
    first_line = next((line for line in text.splitlines() if line.strip()), "")
    return max(SEPARATORS, key=first_line.count)


def _records(name: str, text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Give each record that is not blank, with the line on which it starts."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 1
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                yield line, stripped
            line = reader.line_num + 1
    except csv.Error as error:
        place = f"{name} line {line}"
        said = f"not a CSV row from here on: {error}"
        raise InputFaults([Fault(place, said, line)]) from None


def _columns(
    name: str, line: int, titles: list[str], required: tuple[str, ...], optional: tuple[str, ...]
) -> tuple[str, ...]:
    columns = tuple("_".join(title.lower().split()) for title in titles)
    while columns and not columns[-1]:
        columns = columns[:-1]
    place = f"{name} line {line}"
    faults = [
        Fault(place, f"column {title!r} is there {count} times", line)
        for title, count in Counter(columns).items()
        if count > 1
    ]
    known = required + optional
    faults += [
        Fault(place, unknown_column(title, known), line)
        for title in dict.fromkeys(columns)
        if title not in known
    ]
    faults += [
        Fault(place, f"column {title!r} is missing", line)
        for title in required
        if title not in columns
    ]
    if faults:
        raise InputFaults(faults)
    return columns


def unknown_column(title: str, known: tuple[str, ...]) -> str:
    """Say that no column is called so, with the nearest that there is."""
    if not title:
        return "a column has no name"
    near = difflib.get_close_matches(title, known, n=1)
    hint = f"did you mean {near[0]!r}?" if near else f"known are {', '.join(known)}"
    return f"unknown column {title!r}: {hint}"


def _add_row(sheet: Sheet, line: int, cells: list[str]) -> None:
    surplus = [cell for cell in cells[len(sheet.columns) :] if cell]
    if surplus:
        sheet.fault(
            line,
            "",
            f"more cells than the header has columns ({', '.join(map(repr, surplus))}): "
            "put a text that holds the separator in quotes",
        )
    padded = cells + [""] * (len(sheet.columns) - len(cells))
    sheet.rows.append((line, dict(zip(sheet.columns, padded, strict=False))))
