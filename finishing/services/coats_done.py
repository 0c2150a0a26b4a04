"""Entering a half-done house: how far each of its areas was when it was taken on."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Area, Change, CoatDone, Compound, House, User
from finishing.rules.compounds import NEEDS_COMPOUND
from finishing.rules.vocabulary import Stage
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.rows import StaleRowsError, all_or_stale

FIELDS = ("stage", "compound", "ended_at", "done_by")


@dataclass(frozen=True, slots=True)
class CoatLine:
    """The last stage done in an area, as somebody wants it; stage None: nothing was.

    place: what faults call it. ended_at: UTC. version: of the row they saw; 0 where there was none.
    """

    place: str
    area: Area
    stage: Stage | None
    compound: Compound | None = None
    ended_at: datetime | None = None
    done_by: str = ""
    version: int = 0


@transaction.atomic
def edit_coats_done(
    *, house: House, lines: Sequence[CoatLine], by: User | None, now: datetime
) -> None:
    """Bring in line how far areas of a house were; areas that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    if faults := list(coat_faults(lines, now)):
        raise InputFaults(faults)
    rows = {row.area_id: row for row in CoatDone.objects.filter(area__house=house)}
    edit = HouseEdit(house, by, now)
    all_or_stale([partial(_bring_in_line, edit, line, rows.get(line.area.pk)) for line in lines])


def coat_faults(lines: Iterable[CoatLine], now: datetime) -> Iterator[Fault]:
    """Yield what does not fit together, area by area."""
    for line in lines:
        area = {"area": line.area.name}
        if line.stage is None:
            if line.compound or line.ended_at or line.done_by:
                said = _("%(area)s: choose the last stage done, or take the rest away.")
                yield Fault(f"{line.place}-stage", said % area)
            continue
        if line.ended_at is None:
            said = _("%(area)s: say when it ended; what goes over it waits from then on.")
            yield Fault(f"{line.place}-ended_at", said % area)
        elif line.ended_at > now:
            yield Fault(f"{line.place}-ended_at", _("%(area)s: this is still to come.") % area)
        if line.compound and line.stage not in NEEDS_COMPOUND:
            said = _("%(area)s: this stage uses no compound: leave it blank.")
            yield Fault(f"{line.place}-compound", said % area)


def _bring_in_line(edit: HouseEdit, line: CoatLine, row: CoatDone | None) -> None:
    where: dict[str, Any] = {"what": Change.What.COAT_DONE, "place": line.area.name}
    if line.stage is None:
        if row:
            edit.remove(row, **where, version=line.version, names=FIELDS)
    elif row:
        edit.change(row, **where, version=line.version, values=_values(line))
    elif line.version:
        raise StaleRowsError([], gone=1)
    else:
        whose = {"company_id": edit.house.company_id, "area": line.area}
        edit.make(CoatDone(**whose, **_values(line)), **where, names=FIELDS)


def _values(line: CoatLine) -> dict[str, Any]:
    return {name: getattr(line, name) for name in FIELDS}
