"""Writing a row: made or changed, checked in full, its version counted up when it changes."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import QuerySet

from finishing.models.owned import Row


def put_row[R: Row](
    model: type[R], *, match: Mapping[str, Any], values: Mapping[str, Any] | None = None
) -> R:
    """Return the row that matches, with these values; it is made where there is none."""
    row = model._default_manager.filter(**match).first()
    if row is None:
        row = model(**match, **(values or {}))
    elif not _changed(row, values or {}):
        return row
    else:
        row.version += 1
    row.full_clean()
    row.save()
    return row


def _changed(row: Row, values: Mapping[str, Any]) -> bool:
    """Set the values on the row and tell whether any differs from before."""
    changed = False
    for name, value in values.items():
        if getattr(row, name) != value:
            setattr(row, name, value)
            changed = True
    return changed


def delete_others[R: Row](rows: QuerySet[R], kept: Iterable[R]) -> None:
    """Delete those of the rows that are not kept."""
    rows.exclude(pk__in=[row.pk for row in kept]).delete()
