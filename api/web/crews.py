"""The list of a company's crews, and a form for another."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms

from api.web.crew_facts_form import CrewFactsForm
from api.web.form_group import CompanyGroup
from finishing.models import Change, Company, Crew, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from scheduling.crew_wording import week_in_words
from scheduling.services.crew_facts import FACTS, add_crew, crew_fact_faults
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


class NewCrewGroup(CompanyGroup):
    """The form of a crew that is added. made: the crew, once it is."""

    logs = (Change.What.CREW,)
    made: Crew

    def build(self) -> list[forms.Form]:
        initial = {"version": 0, "zone": self.company.zone, "is_active": True}
        return [CrewFactsForm(self.data, initial=initial)]

    def check(self) -> Iterable[Fault]:
        return crew_fact_faults(self.company, self.forms[0].cleaned_data)

    def save(self, by: User, now: datetime) -> None:  # noqa: ARG002
        typed: dict[str, Any] = self.forms[0].cleaned_data
        self.made = add_crew(company=self.company, facts={name: typed[name] for name in FACTS})

    def in_words(self, row: Row) -> str:
        return str(row)
