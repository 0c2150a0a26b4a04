"""Writing a row: made or changed, checked in full, its version counted up when it changes."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any
from zlib import crc32

from django.db.models import QuerySet

from finishing.models.owned import Row


def put_row[R: Row](
    model: type[R], *, match: Mapping[str, Any], values: Mapping[str, Any] | None = None
) -> R:
    """Return the row that matches, with these values; it is made where there is none."""
    row = model._default_manager.filter(**match).first()
    if row is None:
        row = model(**match, **(values or {}))
    elif not set_values(row, values or {}):
        return row
    else:
        row.version += 1
    row.full_clean()
    row.save()
    return row


def set_values(row: Row, values: Mapping[str, Any]) -> bool:
    """Set the values on the row, not stored yet, and tell whether any differs from before."""
    changed = False
    for name, value in values.items():
        if getattr(row, name) != value:
            setattr(row, name, value)
            changed = True
    return changed


def delete_others[R: Row](rows: QuerySet[R], kept: Iterable[R]) -> None:
    """Delete those of the rows that are not kept."""
    gone = set(rows.values_list("pk", flat=True)) - {row.pk for row in kept}
    if gone:
        rows.filter(pk__in=gone).delete()


class StaleRowsError(Exception):
    """Rows that somebody else has changed, or removed, since the page was opened that edits them.

    rows: those changed, as they are now. gone: how many are no longer there.
    """

    def __init__(self, rows: Iterable[Row], gone: int = 0) -> None:
        self.rows = tuple(rows)
        self.gone = gone
        super().__init__(f"{len(self.rows)} changed, {gone} gone")


def change_row[R: Row](row: R, *, version: int, values: Mapping[str, Any]) -> bool:
    """Set values on a row that was looked at in this version; return whether any differs.

    Call it in a transaction. Raises StaleRowsError where the row has another version by now, and
    ValidationError where it would not be in order.
    """
    if not set_values(row, values):
        return False
    claim_row(row, version=version)
    row.version = version + 1
    row.full_clean()
    row.save()
    return True


def remove_row(row: Row, *, version: int) -> None:
    """Delete a row that was looked at in this version; see :func:`change_row`."""
    claim_row(row, version=version)
    row.delete()


def claim_row(row: Row, *, version: int) -> None:
    """Count the row's version up, or raise StaleRowsError: one row updated means it is ours."""
    rows = type(row)._default_manager.filter(pk=row.pk)
    if not rows.filter(version=version).update(version=version + 1):
        now = rows.first()
        raise StaleRowsError([now] if now else [], gone=0 if now else 1)


def all_or_stale(edits: Iterable[Callable[[], object]]) -> None:
    """Make several edits; raise one StaleRowsError for all the rows of which any is stale.

    Call it in a transaction, which undoes the others then.
    """
    rows: list[Row] = []
    gone = 0
    for edit in edits:
        try:
            edit()
        except StaleRowsError as stale:
            rows.extend(stale.rows)
            gone += stale.gone
    if rows or gone:
        raise StaleRowsError(rows, gone)


def version_of(rows: Iterable[Row]) -> int:
    """Return the version of rows that are shown and edited as one: a number of up to nine digits,
    another once any of them has changed, come or gone; 0 where there is none."""
    said = " ".join(sorted(f"{row.public_id}:{row.version}" for row in rows))
    return crc32(said.encode()) % 10**9 if said else 0
