"""Tables as CSV that a spreadsheet opens without taking a text for a formula."""

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

_TAKEN_FOR_FORMULAS = ("=", "+", "-", "@", "\t", "\r")


def csv_table(rows: Iterable[Sequence[object]]) -> str:
    """Return rows as CSV; a text that a spreadsheet would work out has an apostrophe before it."""
    file = StringIO()
    csv.writer(file).writerows([_cell(value) for value in row] for row in rows)
    return file.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str) and value.lstrip(" ").startswith(_TAKEN_FOR_FORMULAS):
        return f"'{value}"
    return "" if value is None else value
