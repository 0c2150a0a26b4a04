"""The list of a company's crews."""

from dataclasses import dataclass

from finishing.models import Company, Crew
from scheduling.crew_wording import week_in_words
from scheduling.wording import listed


@dataclass(frozen=True)
class CrewLine:
    """A crew in the list; members: their names, hours: its week in words."""

    crew: Crew
    members: str
    hours: str


def crews_page(company: Company) -> list[CrewLine]:
    """Return a company's crews by name, those that get no new work last."""
    rows = Crew.objects.filter(company=company).prefetch_related("members", "hours")
    return [
        CrewLine(
            crew,
            listed([str(row) for row in crew.members.all()]),
            week_in_words((row.weekday, row.start, row.end) for row in crew.hours.all()),
        )
        for crew in rows.order_by("-is_active", "name")
    ]
