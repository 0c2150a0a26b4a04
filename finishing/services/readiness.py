"""Editing what a house must offer: ticked off one by one, or the whole list at once."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import partial
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Change, House, ReadinessLine, User
from finishing.rules.vocabulary import Readiness
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.rows import StaleRowsError, all_or_stale

READINESS = Change.What.READINESS
FIELDS = ("done", "expected_on", "owed_by")


class State(StrEnum):
    """How a line of the list stands."""

    NOT_ASKED = ""
    """The house need not offer it: no row."""
    OPEN = "open"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class ReadyLine:
    """A line as somebody wants it. version: of the row they saw; 0 where there was none."""

    item: Readiness
    state: State
    expected_on: date | None = None
    owed_by: str = ""
    version: int = 0


@transaction.atomic
def tick_readiness(
    *, line: ReadinessLine, done: bool, version: int, by: User | None, now: datetime
) -> None:
    """Note that a line is done, or open again; raise StaleRowsError for one changed meanwhile."""
    edit = HouseEdit(line.house, by, now)
    edit.change(line, what=READINESS, place=line.item, version=version, values={"done": done})


@transaction.atomic
def edit_readiness(
    *, house: House, lines: Iterable[ReadyLine], by: User | None, now: datetime
) -> None:
    """Bring a house's list in line; items that are not named stay.

    Raises InputFaults (places: ``item-field``) and StaleRowsError, with all that is wrong.
    """
    lines = list(lines)
    if faults := [fault for line in lines for fault in ready_faults(line)]:
        raise InputFaults(faults)
    rows = {row.item: row for row in house.readiness.all()}
    edit = HouseEdit(house, by, now)
    all_or_stale([partial(_bring_in_line, edit, line, rows.get(line.item)) for line in lines])


def ready_faults(line: ReadyLine) -> Iterator[Fault]:
    """Yield what is wrong with a line."""
    if line.state is State.NOT_ASKED and (line.expected_on or line.owed_by):
        said = _("Say whether it is open or done, or take its day and who owes it away.")
        yield Fault(f"{line.item}-state", said)


def _bring_in_line(edit: HouseEdit, line: ReadyLine, row: ReadinessLine | None) -> None:
    where: dict[str, Any] = {"what": READINESS, "place": line.item}
    if line.state is State.NOT_ASKED:
        if row:
            edit.remove(row, **where, version=line.version, names=FIELDS)
    elif row:
        edit.change(row, **where, version=line.version, values=_values(line))
    elif line.version:
        raise StaleRowsError([], gone=1)
    else:
        whose = {"company_id": edit.house.company_id, "house": edit.house, "item": line.item}
        edit.make(ReadinessLine(**whose, **_values(line)), **where, names=FIELDS)


def _values(line: ReadyLine) -> dict[str, Any]:
    return {
        "done": line.state is State.DONE,
        "expected_on": line.expected_on,
        "owed_by": line.owed_by,
    }
