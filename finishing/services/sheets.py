"""What somebody brings in as a table: a CSV file, or the same as rows of another program."""

from typing import Any

from finishing.services.csv_files import Sheet, read_csv
from finishing.services.errors import Fault, InputFaults
from finishing.services.row_lists import read_rows

type Content = bytes | list[Any]
"""The bytes of a file, or rows as JSON has them."""
MOST_ROWS = 100_000


def read_sheet(
    *, name: str, content: Content, required: tuple[str, ...], optional: tuple[str, ...] = ()
) -> Sheet:
    """Read a table; raise :class:`InputFaults` where its frame (not its cells) is broken, or where
    it has more than :data:`MOST_ROWS`."""
    if isinstance(content, bytes):
        sheet = read_csv(name=name, content=content, required=required, optional=optional)
    else:
        sheet = read_rows(content, required=required, optional=optional)
    if len(sheet.rows) > MOST_ROWS:
        raise InputFaults([Fault(name, f"has more than {MOST_ROWS:,} rows: send it in parts")])
    return sheet
