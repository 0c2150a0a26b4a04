"""Who is there: crews and members away, members lent to another crew, extra hours."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from django.db import transaction

from finishing.models import Company, Crew, CrewMember, DayOff, ExtraHours, Loan
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import put_row


def crew_named(company: Company, name: str) -> Crew:
    """Return a company's crew; raise InputFaults with those there are."""
    crews = list(Crew.objects.filter(company=company, is_active=True))
    for crew in crews:
        if crew.name == name:
            return crew
    raise InputFaults([_unknown("crew", name, [crew.name for crew in crews])])


def members_named(company: Company, name: str) -> list[CrewMember]:
    """Return a person's times in the company's crews; raise InputFaults with those there are."""
    members = CrewMember.objects.filter(company=company, crew__is_active=True).select_related(
        "crew"
    )
    found = [member for member in members if member.name == name]
    if not found:
        raise InputFaults([_unknown("member", name, sorted({row.name for row in members}))])
    return found


@transaction.atomic
def mark_away(
    *, crew: Crew, member: CrewMember | None, days: Sequence[date], reason: str = ""
) -> None:
    """Note that a crew, or one member of it, does not work on these days."""
    for day in days:
        put_row(
            DayOff,
            match={"company": crew.company, "crew": crew, "member": member, "day": day},
            values={"reason": reason},
        )


@transaction.atomic
def mark_back(*, crew: Crew, member: CrewMember | None, days: Sequence[date]) -> int:
    """Take back days off and return how many there were."""
    rows = DayOff.objects.filter(crew=crew, member=member, day__in=days)
    return rows.delete()[0]


@transaction.atomic
def lend_member(*, company: Company, name: str, crew: Crew, days: Sequence[date]) -> None:
    """Lend a person to another crew on these days; raise InputFaults with all days on which
    nobody of this name is in a crew to be lent from."""
    members = members_named(company, name)
    by_day = {day: _on_day(members, day) for day in days}
    faults = [Fault("days", f"{name!r} is in no crew on {day}") for day in days if not by_day[day]]
    if faults:
        raise InputFaults(faults)
    for day, member in by_day.items():
        put_row(
            Loan, match={"company": company, "member": member, "day": day}, values={"crew": crew}
        )


@transaction.atomic
def end_loan(*, crew: Crew, name: str, days: Sequence[date]) -> int:
    """Let a person work with its own crew again on these days; return how many loans ended."""
    rows = Loan.objects.filter(crew=crew, member__name=name, day__in=days)
    return rows.delete()[0]


@transaction.atomic
def add_extra_hours(
    *, crew: Crew, days: Sequence[date], hours: tuple[time, time] | None = None
) -> list[ExtraHours]:
    """Note that a crew works more on these days, from a time to another on its clock.

    Without ``hours`` it is an hour after its last on a day on which it works, and the hours of
    its last working day before on any other. Raises InputFaults where that says nothing.
    """
    spans = [(day, span) for day in days for span in ([hours] if hours else _usual(crew, day))]
    if unknown := {*days} - {day for day, _ in spans}:
        raise InputFaults([Fault("hours", f"{crew}: which, on {day}?") for day in sorted(unknown)])
    return [
        put_row(
            ExtraHours,
            match={"company": crew.company, "crew": crew, "day": day, "start": start},
            values={"end": end},
        )
        for day, (start, end) in spans
    ]


@transaction.atomic
def end_extra_hours(*, crew: Crew, days: Sequence[date]) -> int:
    """Take back a crew's extra hours on these days and return how many rows there were."""
    return ExtraHours.objects.filter(crew=crew, day__in=days).delete()[0]


def _usual(crew: Crew, day: date) -> list[tuple[time, time]]:
    """Return the extra hours that are meant where none are named."""
    weekly: dict[int, list[tuple[time, time]]] = {}
    for row in crew.hours.all():
        weekly.setdefault(row.weekday, []).append((row.start, row.end))
    if day.weekday() not in weekly:
        before = (weekly.get((day.weekday() - back) % 7) for back in range(1, 7))
        return next((spans for spans in before if spans), [])
    last = max(end for _, end in weekly[day.weekday()])
    later = datetime.combine(day, last) + timedelta(hours=1)
    return [(last, later.time())] if later.date() == day else []


def _on_day(members: Sequence[CrewMember], day: date) -> CrewMember | None:
    for member in members:
        if (member.from_day or day) <= day <= (member.to_day or day):
            return member
    return None


def _unknown(place: str, name: str, known: Sequence[str]) -> Fault:
    return Fault(place, f"no {name!r}; known: {', '.join(known) or 'none yet'}")
