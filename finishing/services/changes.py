"""The log of what people did: one row an edit, written with the edit itself."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from typing import Any

from django.db.models import Model

from finishing.models import Change, Company, House, User
from finishing.services.acting import acting_program

LONGEST_PLACE = 250


def values_of(row: Model, names: Iterable[str]) -> dict[str, Any]:
    """Return some of a row's values by field, to be logged: taken before and after an edit."""
    return {name: getattr(row, name) for name in names}


def log_change(
    *,
    of: House | Company,
    by: User | None,
    now: datetime,
    kind: Change.Kind,
    what: Change.What,
    place: str = "",
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> Change | None:
    """Store what an edit did to a house, or to a row of the company; call it in the edit's own
    transaction.

    before, after: the row's values by field (see :func:`values_of`), none where it was made or
    removed. Only what differs is kept; where a row was changed and nothing differs, nothing is
    stored and None is returned. by: None where a program or a command
    did it. place: see :class:`Change`.
    """
    fields = _differences(before or {}, after or {})
    if kind == Change.Kind.CHANGED and not fields:
        return None
    change = Change(
        company_id=of.company_id if isinstance(of, House) else of.pk,
        house=of if isinstance(of, House) else None,
        at=now,
        by=by,
        program=acting_program(),
        kind=kind,
        what=what,
        place=place[:LONGEST_PLACE],
        fields=fields,
    )
    change.full_clean()
    change.save()
    return change


def _differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, list[Any]]:
    pairs = {
        name: [_plain(before.get(name)), _plain(after.get(name))] for name in {**before, **after}
    }
    return {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}


def _plain(value: Any) -> Any:
    """Return a value as JSON has it: days and moments in ISO 8601, another row by its name.

    An empty text is none: a field that has no word in it says nothing.
    """
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    if isinstance(value, Model):
        return str(value)
    if isinstance(value, str):
        return str(value) or None  # an enum's member is a plain text here
    return value
