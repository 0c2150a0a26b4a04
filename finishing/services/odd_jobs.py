"""Editing the odd jobs of a house: small tasks without joints."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Change, House, OddJob, User
from finishing.rules.vocabulary import Skill
from finishing.services.errors import Fault, InputFaults
from finishing.services.house_edit import HouseEdit
from finishing.services.rows import StaleRowsError, all_or_stale

FIELDS = ("name", "person_minutes", "skill", "done")


@dataclass(frozen=True, slots=True)
class OddJobLine:
    """An odd job as somebody wants it.

    place: what faults call it. public_id, version: of the row they saw, none for a new one.
    """

    place: str
    name: str
    person_minutes: int
    skill: Skill = Skill.ODD_JOBS
    done: bool = False
    public_id: UUID | None = None
    version: int = 0
    remove: bool = False


@transaction.atomic
def edit_odd_jobs(
    *, house: House, lines: Sequence[OddJobLine], by: User | None, now: datetime
) -> None:
    """Add, change and remove odd jobs of a house; those that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    rows = {row.public_id: row for row in house.odd_jobs.all()}
    named = {line.public_id for line in lines}
    others = [row.name for key, row in rows.items() if key not in named]
    if faults := list(odd_job_faults(lines, others)):
        raise InputFaults(faults)
    edit = HouseEdit(house, by, now)
    all_or_stale([partial(_bring_in_line, edit, line, rows) for line in lines])


def odd_job_faults(lines: Iterable[OddJobLine], others: Iterable[str] = ()) -> Iterator[Fault]:
    """Yield the jobs whose names are there already, and those without work in them.

    others: the names of the house's other jobs. A file of site data knows a job by its name.
    """
    times = Counter(others)
    for line in lines:
        if line.remove:
            continue
        times[line.name] += 1
        if times[line.name] == 2:
            said = _("There is another job called %(name)s: choose a name that differs.")
            yield Fault(f"{line.place}-name", said % {"name": line.name})
        if line.person_minutes < 1:
            yield Fault(f"{line.place}-person_minutes", _("Say how many hours it takes."))


def _bring_in_line(edit: HouseEdit, line: OddJobLine, rows: dict[UUID, OddJob]) -> None:
    where: dict[str, Any] = {"what": Change.What.ODD_JOB, "place": line.name}
    if line.public_id is None:
        whose = {"company_id": edit.house.company_id, "house": edit.house}
        edit.make(OddJob(**whose, **_values(line)), **where, names=FIELDS)
    elif (row := rows.get(line.public_id)) is None:
        raise StaleRowsError([], gone=1)
    elif line.remove:
        edit.remove(row, **where, version=line.version, names=FIELDS)
    else:
        edit.change(row, **where, version=line.version, values=_values(line))


def _values(line: OddJobLine) -> dict[str, Any]:
    return {name: getattr(line, name) for name in FIELDS}
