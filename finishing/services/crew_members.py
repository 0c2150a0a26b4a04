"""Editing who is in a crew, with which skills, from when to when."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import combinations
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Crew, CrewMember
from finishing.rules.vocabulary import Skill
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError, all_or_stale, change_row, remove_row


@dataclass(frozen=True, slots=True)
class MemberLine:
    """A person's time in a crew as somebody wants it, both days included, None for no end.

    place: what faults call the line. public_id, version: of the row they saw, none for a new one.
    """

    place: str
    name: str
    skills: frozenset[Skill]
    from_day: date | None = None
    to_day: date | None = None
    email: str = ""
    public_id: UUID | None = None
    version: int = 0
    remove: bool = False


@transaction.atomic
def edit_members(*, crew: Crew, lines: Sequence[MemberLine]) -> None:
    """Add, change and remove members of a crew; those that no line names stay.

    Raises InputFaults (places: ``place-field``) and StaleRowsError, with all that is wrong.
    """
    rows = {row.public_id: row for row in CrewMember.objects.filter(crew=crew)}
    named = {line.public_id for line in lines}
    others = [_as_it_is(row) for key, row in rows.items() if key not in named]
    if faults := list(member_faults([*others, *lines])):
        raise InputFaults(faults)
    all_or_stale([partial(_bring_in_line, crew, line, rows) for line in lines])


def members_of(crew: Crew, *, but: CrewMember | None = None) -> list[MemberLine]:
    """Return a crew's members as lines without a place; but: one left out."""
    rows = CrewMember.objects.filter(company=crew.company_id, crew=crew)
    return [_as_it_is(row) for row in rows if row != but]


def member_faults(lines: Iterable[MemberLine]) -> Iterator[Fault]:
    """Yield what is wrong with the members of a crew."""
    kept = [line for line in lines if not line.remove]
    for line in kept:
        if line.from_day and line.to_day and line.to_day < line.from_day:
            said = _("%(name)s leaves before the first day: swap the days.")
            yield Fault(f"{line.place}-to_day", said % {"name": line.name})
    for one, other in combinations(kept, 2):
        if one.name == other.name and _at_once(one, other):
            said = _("%(name)s is in the crew at that time already: tell the two apart by name.")
            yield Fault(f"{other.place}-name", said % {"name": other.name})


def _at_once(one: MemberLine, other: MemberLine) -> bool:
    starts = max(one.from_day or date.min, other.from_day or date.min)
    return starts <= min(one.to_day or date.max, other.to_day or date.max)


def _as_it_is(row: CrewMember) -> MemberLine:
    return MemberLine("", row.name, frozenset(), row.from_day, row.to_day)


def _bring_in_line(crew: Crew, line: MemberLine, rows: dict[UUID, CrewMember]) -> None:
    if line.public_id is None:
        member = CrewMember(company_id=crew.company_id, crew=crew, **_values(line))
        member.full_clean()
        member.save()
    elif (row := rows.get(line.public_id)) is None:
        raise StaleRowsError([], gone=1)
    elif line.remove:
        remove_row(row, version=line.version)
    else:
        change_row(row, version=line.version, values=_values(line))


def _values(line: MemberLine) -> dict[str, Any]:
    skills = [skill.value for skill in Skill if skill in line.skills]
    days = {"from_day": line.from_day, "to_day": line.to_day}
    return {"name": line.name, "email": line.email, "skills": skills, **days}
