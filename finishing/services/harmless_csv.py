"""Tables as CSV files that a spreadsheet opens without taking a cell for a formula."""

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

BYTE_ORDER_MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"
"""Without it some spreadsheets take UTF-8 for something else."""
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""What a spreadsheet may take for the start of a formula, blanks aside."""


def harmless_csv(heading: Sequence[str], rows: Iterable[Sequence[str | float]]) -> str:
    """Return a table as CSV (RFC 4180). Numbers stay numbers, also those below 0; words that look
    like a formula get an apostrophe in front."""
    out = StringIO()
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out)
    writer.writerow([_cell(word) for word in heading])
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: str | float) -> str | float:
    if isinstance(value, str) and value.lstrip(" ").startswith(_STARTS):
        return f"'{value}"
    return value
