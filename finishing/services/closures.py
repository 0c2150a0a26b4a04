"""Editing when areas are given to others."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from itertools import combinations
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from finishing.models import Area, Change, Closure, House, User
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.rows import StaleRowsError, all_or_stale

FIELDS = ("area", "first_day", "last_day", "reason")


@dataclass(frozen=True, slots=True)
class ClosureLine:
    """A closure as somebody wants it; days of the house's zone, both included.

    place: what faults call the line. public_id, version: of the row they saw, none for a new one.
    """

    place: str
    area: Area
    first_day: date
    last_day: date
    reason: str = ""
    public_id: UUID | None = None
    version: int = 0
    remove: bool = False


@transaction.atomic
def edit_closures(
    *, house: House, lines: Sequence[ClosureLine], by: User | None, now: datetime
) -> None:
    """Add, change and remove closures of a house; those that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    closures = Closure.objects.filter(company=house.company_id, area__house=house)
    rows = {row.public_id: row for row in closures.select_related("area")}
    named = {line.public_id for line in lines}
    others = [_as_it_is(row) for key, row in rows.items() if key not in named]
    if faults := list(closure_faults([*others, *lines])):
        raise InputFaults(faults)
    edit = HouseEdit(house, by, now)
    all_or_stale([partial(_bring_in_line, edit, line, rows) for line in lines])


def closure_faults(lines: Iterable[ClosureLine]) -> Iterator[Fault]:
    """Yield what is wrong with the closures of a house: one fault for each line that ends before
    it begins, and one for each two that overlap, at the later one."""
    kept = [line for line in lines if not line.remove]
    for line in kept:
        if line.last_day < line.first_day:
            said = _("%(area)s: the last day is before the first: swap them.")
            yield Fault(f"{line.place}-last_day", said % {"area": line.area.name})
    for one, other in combinations(kept, 2):
        if one.area == other.area and _overlap(one, other):
            said = _(
                "%(area)s is closed from %(first)s to %(last)s already: change one of the two."
            )
            yield Fault(
                f"{other.place}-first_day",
                said
                % {"area": one.area.name, "first": _day(one.first_day), "last": _day(one.last_day)},
            )


def _overlap(one: ClosureLine, other: ClosureLine) -> bool:
    return one.first_day <= other.last_day and other.first_day <= one.last_day


def _day(day: date) -> str:
    return date_format(day, "D j M")


def _as_it_is(row: Closure) -> ClosureLine:
    return ClosureLine("", row.area, row.first_day, row.last_day, row.reason)


def _bring_in_line(edit: HouseEdit, line: ClosureLine, rows: dict[UUID, Closure]) -> None:
    where: dict[str, Any] = {"what": Change.What.CLOSURE, "place": line.area.name}
    if line.public_id is None:
        closure = Closure(company_id=edit.house.company_id, **_values(line))
        edit.make(closure, **where, names=FIELDS)
    elif (row := rows.get(line.public_id)) is None:
        raise StaleRowsError([], gone=1)
    elif line.remove:
        edit.remove(row, **where, version=line.version, names=FIELDS)
    else:
        edit.change(row, **where, version=line.version, values=_values(line))


def _values(line: ClosureLine) -> dict[str, Any]:
    return {name: getattr(line, name) for name in FIELDS}
