"""The cells of one thing, read as what they should be; what cannot be read is noted as a fault."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from finishing.services.csv_files import Sheet
from finishing.services.local_times import YEARS
from finishing.services.typed_numbers import number_of

_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0"})
LONGEST_TEXT = 120


@dataclass(frozen=True, slots=True)
class Cells:
    """Cells by column, each with its line; ``line`` is where the thing itself starts.

    Every reader returns None for a blank cell and for one it cannot read (then with a fault).
    """

    sheet: Sheet
    line: int
    values: dict[str, tuple[int, str]]

    def text(self, column: str, *, longest: int = LONGEST_TEXT) -> str:
        """Return the text, blank where there is none."""
        text = self.values.get(column, (0, ""))[1]
        if not text.isprintable():
            self.fault(
                column, f"{text!r} has a line break or another character that cannot be seen"
            )
            return ""
        if len(text) > longest:
            self.fault(column, f"longer than {longest} characters")
        return text

    def required(self, column: str, *, longest: int = LONGEST_TEXT) -> str:
        text = self.text(column, longest=longest)
        if not text:
            self.fault(column, "must not be blank")
        return text

    def number(
        self,
        column: str,
        *,
        above: float | None = None,
        least: float | None = None,
        most: float | None = None,
    ) -> float | None:
        """Read a decimal number; a decimal comma too where the comma does not separate cells."""
        text = self.text(column)
        if not text:
            return None
        plain = text if self.sheet.separator == "," else text.replace(",", ".", 1)
        try:
            value = number_of(plain)
        except ValueError:
            self.fault(column, f"{text!r} is not a number such as 12.5")
            return None
        if above is not None and value <= above:
            self.fault(column, f"{text} must be more than {above:g}")
        elif least is not None and value < least:
            self.fault(column, f"{text} must not be below {least:g}")
        elif most is not None and value > most:
            self.fault(column, f"{text} must not be above {most:g}")
        else:
            return value
        return None

    def whole(self, column: str, *, least: int = 0, most: int = 32_767) -> int | None:
        value = self.number(column, least=least, most=most)
        if value is not None and value != int(value):
            self.fault(column, f"{self.text(column)} is not a whole number")
            return None
        return None if value is None else int(value)

    def day(self, column: str) -> date | None:
        text = self.text(column)
        try:
            day = date.fromisoformat(_dashed(text)) if text else None
        except ValueError:
            self.fault(column, f"{text!r} is not a date written as YYYY-MM-DD")
            return None
        if day and day.year not in YEARS:
            self.fault(column, f"{text} is not in the years {YEARS[0]} to {YEARS[-1]}")
            return None
        return day

    def yes(self, column: str) -> bool | None:
        text = self.text(column)
        if not text:
            return None
        if text.lower() in _YES | _NO:
            return text.lower() in _YES
        self.fault(column, f"{text!r} is neither yes nor no")
        return None

    def choice[E: Enum](self, column: str, kind: type[E]) -> E | None:
        """Read one of an enum's values, in any case and with spaces for underscores."""
        text = self.text(column)
        return self.one_of(column, text, kind) if text else None

    def one_of[E: Enum](self, column: str, text: str, kind: type[E]) -> E | None:
        wanted = text.strip().lower().replace(" ", "_")
        for member in kind:
            if wanted == member.value.lower().replace(" ", "_"):
                return member
        self.fault(column, f"{text!r} is not one of {', '.join(m.value for m in kind)}")
        return None

    def fault(self, column: str, text: str) -> None:
        line = self.values.get(column, (self.line, ""))[0] or self.line
        self.sheet.fault(line, column, text)


def cells_of_row(sheet: Sheet, line: int, row: dict[str, str]) -> Cells:
    return Cells(sheet, line, {column: (line, text) for column, text in row.items()})


def gathered(rows: Sequence[Cells], columns: Iterable[str]) -> Cells:
    """Gather what several rows say of one thing: each value once, or the same each time."""
    values: dict[str, tuple[int, str]] = {}
    for row in rows:
        for column in columns:
            line, text = row.values.get(column, (row.line, ""))
            if not text:
                continue
            first_line, first = values.setdefault(column, (line, text))
            if first != text:
                row.fault(column, f"{text!r} here but {first!r} on {row.sheet.nth(first_line)}")
    return Cells(rows[0].sheet, rows[0].line, values)


def _dashed(text: str) -> str:
    """Return only a text that is written with dashes, so that 20260302 is not taken."""
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise ValueError(text)
    return text
