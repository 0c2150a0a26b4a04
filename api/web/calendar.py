"""Who works on which days: weekly hours, days off, public holidays."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from finishing.models import Company, Crew, DayOff, ExtraHours, Holiday


@dataclass(frozen=True)
class CrewCalendar:
    """The company's crews with the days of some weeks on which they are away."""

    crews: tuple[Crew, ...]
    holidays: dict[date, str]

    def of(self, keeps: Callable[[Crew], bool]) -> "CrewCalendar":
        """Return the calendar of some of the crews."""
        return CrewCalendar(tuple(filter(keeps, self.crews)), self.holidays)

    def works(self, crew: Crew, day: date) -> bool:
        """Return whether anyone of the crew has hours on the day, extra ones or its own."""
        if any(off.day == day and off.member_id is None for off in crew.days_off.all()):
            return False
        if any(extra.day == day for extra in crew.extra_hours.all()):
            return True
        weekdays = {window.weekday for window in crew.hours.all()}
        return day.weekday() in weekdays and day not in self.holidays

    def absences(self, crew: Crew, day: date) -> tuple[str, ...]:
        """Return a line for each day off of the crew or one of its members."""
        return tuple(absence(off) for off in crew.days_off.all() if off.day == day)


def company_calendar(company: Company, dates: Sequence[date]) -> CrewCalendar:
    """Return the company's crews and absences on dates, in five queries."""
    days_off = DayOff.objects.filter(day__in=dates).select_related("member").order_by("day", "id")
    crews = (
        Crew.objects.filter(company=company)
        .select_related("company")
        .prefetch_related(
            "hours",
            Prefetch("days_off", queryset=days_off),
            Prefetch("extra_hours", queryset=ExtraHours.objects.filter(day__in=dates)),
        )
    )
    holidays = Holiday.objects.filter(company=company, day__in=dates)
    return CrewCalendar(tuple(crews), {row.day: row.name for row in holidays})


def absence(off: DayOff) -> str:
    """Say who is off, and why where that is known."""
    who = _("%(name)s is off") % {"name": off.member.name} if off.member else _("Day off")
    return f"{who}: {off.reason}" if off.reason else who
