"""When crews work, when houses are open, when areas are closed: rows to windows and spans."""

from collections.abc import Iterable, Sequence
from datetime import date, time
from zoneinfo import ZoneInfo

from finishing.models import Area, Crew, CrewHours, CrewMember, ExtraHours, House
from finishing.rules.hours import parse_hours
from scheduling.services.timeline import (
    LAST_DAY,
    ONE_DAY,
    TICKS_PER_HOUR,
    Timeline,
    local_instant,
    without,
)
from scheduling.solver import problem as solver
from scheduling.solver.problem import Span, Window


def crew_for_solver(
    crew: Crew,
    timeline: Timeline,
    holidays: frozenset[date],
    more: Sequence[ExtraHours] = (),
    *,
    lends: bool = True,
) -> solver.Crew:
    """Return a crew with its windows, heads and skills, days off and holidays taken out.

    A window lacks a skill that the crew has (or borrows on some day), when nobody who is there
    that day has it. Extra hours are windows at a price, holiday or not, besides the crew's own.
    more: extra hours besides those that are stored. lends: whether people are lent to it and by it.
    """
    every_skill = skills_of(members_ever(crew) if lends else crew.members.all())
    price = -(-crew.company.extra_hour_price // TICKS_PER_HOUR)
    windows = []
    for number, day in enumerate(timeline.days(ZoneInfo(crew.zone))):
        present = members_present(crew, day, lends=lends)
        if not present:
            continue
        lacks = every_skill - skills_of(present)
        own = [] if day in holidays else _own_spans(crew, day, timeline)
        spans = [(span, 0) for span in own]
        for extra in _extra_spans(crew, day, timeline, more):
            known = [span for span, _ in spans]
            spans += [(span, price) for span in without([extra], known)]
        windows += [Window(s.start, s.end, number, len(present), lacks, p) for s, p in spans]
    windows.sort(key=lambda window: window.start)
    return solver.Crew(str(crew.public_id), tuple(windows), every_skill)


def _own_spans(crew: Crew, day: date, timeline: Timeline) -> list[Span]:
    hours = (row for row in crew.hours.all() if row.weekday == day.weekday())
    return _spans(crew, day, hours, timeline)


def _extra_spans(
    crew: Crew, day: date, timeline: Timeline, more: Sequence[ExtraHours]
) -> list[Span]:
    hours = (row for row in (*crew.extra_hours.all(), *more) if row.day == day)
    return _spans(crew, day, hours, timeline)


def _spans(
    crew: Crew, day: date, hours: Iterable[CrewHours | ExtraHours], timeline: Timeline
) -> list[Span]:
    zone = ZoneInfo(crew.zone)
    spans = (
        timeline.span(local_instant(day, row.start, zone), local_instant(day, row.end, zone))
        for row in hours
    )
    return [span for span in spans if span]


def members_ever(crew: Crew) -> list[CrewMember]:
    """Return a crew's own members and those it borrows on some day."""
    return [*crew.members.all(), *(loan.member for loan in crew.borrowed.all())]


def skills_of(members: Iterable[CrewMember]) -> frozenset[str]:
    return frozenset(skill for member in members for skill in member.skills)


def members_present(crew: Crew, day: date, *, lends: bool = True) -> list[CrewMember]:
    """Return who works with a crew on a day, by membership dates, days off and loans.

    Those it borrows come whether or not their own crew has the day off. lends: whether loans count.
    """
    if any(row.day == day and row.member_id is None for row in crew.days_off.all()):
        return []
    own = [
        member
        for member in crew.members.all()
        if not (lends and any(loan.day == day for loan in member.loans.all()))
    ]
    borrowed = [loan.member for loan in crew.borrowed.all() if lends and loan.day == day]
    return [member for member in (*own, *borrowed) if _works_on(member, day)]


def _works_on(member: CrewMember, day: date) -> bool:
    return (
        not any(row.day == day for row in member.days_off.all())
        and (member.from_day is None or member.from_day <= day)
        and (member.to_day is None or day <= member.to_day)
    )


def access_spans(house: House, timeline: Timeline) -> tuple[Span, ...] | None:
    """Return when crews may be inside a house; None for always."""
    if not house.access:
        return None
    zone = ZoneInfo(house.zone)
    weekly = parse_hours(house.access)
    spans = [
        timeline.span(local_instant(day, window.start, zone), local_instant(day, window.end, zone))
        for day in timeline.days(zone)
        for window in weekly
        if window.weekday == day.weekday()
    ]
    return tuple(sorted((span for span in spans if span), key=lambda span: span.start))


def open_spans(area: Area, timeline: Timeline) -> tuple[Span, ...] | None:
    """Return when an area is not closed by others; None where it never is."""
    zone = ZoneInfo(area.house.zone)
    closed = [
        timeline.span(
            local_instant(row.first_day, time.min, zone),
            local_instant(min(row.last_day, LAST_DAY) + ONE_DAY, time.min, zone),
        )
        for row in area.closures.all()
    ]
    gaps = [span for span in closed if span]
    if not gaps:
        return None
    return tuple(without([Span(0, timeline.horizon)], gaps))
