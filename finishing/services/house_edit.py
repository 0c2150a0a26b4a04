"""Edits of a house's rows by somebody, each checked against the version they saw, and logged."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from finishing.models import Change, House, User
from finishing.models.owned import Row
from finishing.services.changes import log_change, values_of
from finishing.services.rows import change_row, remove_row


@dataclass(frozen=True)
class HouseEdit:
    """What one person does to one house; call its methods inside one transaction.

    by: None for a machine. what, place: see :class:`Change`. All raise StaleRowsError for a row of
    another version.
    """

    house: House
    by: User | None
    now: datetime

    def make(self, row: Row, *, what: Change.What, place: str, names: Iterable[str]) -> None:
        """Store a new row; names: the fields to log."""
        row.full_clean()
        row.save()
        self.log_made(what, place, row, names)

    def log_made(self, what: Change.What, place: str, row: Row, names: Iterable[str]) -> None:
        """Note a row that was stored by other means; names: the fields to log."""
        self._log(Change.Kind.MADE, what, place, after=values_of(row, names))

    def change(
        self, row: Row, *, what: Change.What, place: str, version: int, values: Mapping[str, Any]
    ) -> bool:
        """Set values on a row; return whether any differs."""
        before = values_of(row, values)
        differs = change_row(row, version=version, values=values)
        self._log(Change.Kind.CHANGED, what, place, before=before, after=values_of(row, values))
        return differs

    def remove(
        self, row: Row, *, what: Change.What, place: str, version: int, names: Iterable[str]
    ) -> None:
        """Delete a row; names: the fields to log."""
        before = values_of(row, names)
        remove_row(row, version=version)
        self._log(Change.Kind.REMOVED, what, place, before=before)

    def _log(
        self, kind: Change.Kind, what: Change.What, place: str, **values: Mapping[str, Any]
    ) -> None:
        log_change(
            of=self.house, by=self.by, now=self.now, kind=kind, what=what, place=place, **values
        )
