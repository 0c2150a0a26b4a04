"""Writing crews: their people, hours and days off."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from finishing.models import Company, Crew, CrewHours, CrewMember, DayOff
from finishing.rules.hours import WeeklyWindow
from finishing.rules.vocabulary import Skill
from finishing.services.rows import delete_others, put_row


@dataclass(frozen=True, slots=True)
class MemberEntry:
    """A person's time in a crew, both days included; None leaves the days off or the address that
    there are."""

    name: str
    skills: frozenset[Skill]
    from_day: date | None = None
    to_day: date | None = None
    days_off: tuple[date, ...] | None = None
    email: str | None = None


@dataclass(frozen=True, slots=True)
class CrewEntry:
    """A crew as someone gives it; days_off are those of the whole crew, None leaves them, or the
    crew's address."""

    name: str
    zone: str
    hours: tuple[WeeklyWindow, ...]
    members: tuple[MemberEntry, ...]
    days_off: tuple[date, ...] | None = None
    email: str | None = None


@transaction.atomic
def put_crew(*, company: Company, crew: CrewEntry) -> Crew:
    """Make the crew or bring the one of the same name in line with the entry.

    Members and hours that the entry does not name are deleted.
    """
    row = put_row(
        Crew,
        match={"company": company, "name": crew.name},
        values={"zone": crew.zone, **_address(crew.email)},
    )
    _put_hours(row, crew.hours)
    members = [_put_member(row, member) for member in crew.members]
    delete_others(row.members.all(), members)
    _put_days_off(row, None, crew.days_off)
    return row


def _put_hours(crew: Crew, hours: Iterable[WeeklyWindow]) -> None:
    kept = [
        put_row(
            CrewHours,
            match={
                "company": crew.company,
                "crew": crew,
                "weekday": window.weekday,
                "start": window.start,
                "end": window.end,
            },
        )
        for window in hours
    ]
    delete_others(crew.hours.all(), kept)


def _put_member(crew: Crew, member: MemberEntry) -> CrewMember:
    row = put_row(
        CrewMember,
        match={"company": crew.company, "crew": crew, "name": member.name},
        values={
            "skills": [skill.value for skill in Skill if skill in member.skills],
            "from_day": member.from_day,
            "to_day": member.to_day,
            **_address(member.email),
        },
    )
    _put_days_off(crew, row, member.days_off)
    return row


def _address(email: str | None) -> dict[str, str]:
    return {} if email is None else {"email": email}


def _put_days_off(crew: Crew, member: CrewMember | None, days: tuple[date, ...] | None) -> None:
    if days is None:
        return
    match = {"company": crew.company, "crew": crew, "member": member}
    kept = [put_row(DayOff, match={**match, "day": day}) for day in days]
    delete_others(DayOff.objects.filter(crew=crew, member=member), kept)
