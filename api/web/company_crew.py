"""The page of one crew as the office edits it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404

from api.web.crew_days_forms import DaysOffGroup, ExtraHoursGroup, LoansGroup
from api.web.crew_facts_form import CrewFactsGroup
from api.web.crew_group import CrewGroup
from api.web.crew_members_form import MembersGroup
from api.web.crew_week_form import WeekGroup
from finishing.models import Company, Crew, Loan
from scheduling.crew_wording import visit_on_day_off
from scheduling.queries.crew_visits import visits_of_crew
from scheduling.queries.plans import working_plan
from scheduling.wording import day

GROUPS: Mapping[str, type[CrewGroup]] = {
    "facts": CrewFactsGroup,
    "members": MembersGroup,
    "week": WeekGroup,
    "days_off": DaysOffGroup,
    "extra": ExtraHoursGroup,
    "loans": LoansGroup,
}
"""The sections by name, whose ids in the template they are."""


@dataclass(frozen=True)
class CompanyCrewPage:
    """What the page shows.

    wrong: the section that could not be kept, if any; saved: the name of the one that has just
    been; is_too_late_for_a_plan: whether there is a plan that does not know of it. on_days_off:
    published visits on days off, borrowed: who comes from other crews, in words.
    """

    crew: Crew
    parts: Mapping[str, CrewGroup]
    wrong: CrewGroup | None
    saved: str
    is_too_late_for_a_plan: bool
    on_days_off: Sequence[str]
    borrowed: Sequence[str]


def crew_of(company: Company, public_id: UUID) -> Crew:
    """Return a crew of the company's; 404 where it has no such crew."""
    rows = Crew.objects.filter(company=company).select_related("company")
    return get_object_or_404(rows, public_id=public_id)


def today_of(crew: Crew, now: datetime) -> date:
    return now.astimezone(ZoneInfo(crew.zone)).date()


def company_crew_page(
    crew: Crew, now: datetime, *, wrong: CrewGroup | None = None, saved: str = ""
) -> CompanyCrewPage:
    """Return the page, with the sections as stored but for one that could not be kept."""
    today = today_of(crew, now)
    parts = {
        name: wrong if isinstance(wrong, group) else group(crew, today)
        for name, group in GROUPS.items()
    }
    return CompanyCrewPage(
        crew=crew,
        parts=parts,
        wrong=wrong,
        saved=saved if saved in GROUPS else "",
        is_too_late_for_a_plan=bool(saved) and working_plan(crew.company) is not None,
        on_days_off=_on_days_off(crew, parts["days_off"], now),
        borrowed=_borrowed(crew, today),
    )


def _on_days_off(crew: Crew, group: CrewGroup, now: datetime) -> list[str]:
    assert isinstance(group, DaysOffGroup)
    zone = ZoneInfo(crew.zone)
    away = {row.day: str(row.member or "") for one in group.stretches.values() for row in one.rows}
    return [
        visit_on_day_off(visit.house.name, visit.starts_at, zone, away[on])
        for visit in visits_of_crew(crew, now)
        if (on := visit.starts_at.astimezone(zone).date()) in away
    ]


def _borrowed(crew: Crew, today: date) -> list[str]:
    rows = Loan.objects.filter(company=crew.company_id, crew=crew, day__gte=today)
    return [
        f"{day(row.day)}: {row.member} ({row.member.crew})"
        for row in rows.select_related("member__crew")
    ]
