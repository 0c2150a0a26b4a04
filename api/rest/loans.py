"""/api/v1/loans/: days that somebody works with another crew than their own."""

from collections.abc import Iterable, Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.days import DayListing, DayRows, NewDays, line_of
from api.rest.described import described_as
from api.rest.fields import Day, OwnRelated
from api.rest.serializers import RowSerializer
from finishing.models import Change, Crew, CrewMember, Loan
from finishing.services.crew_days import edit_loans, loan_faults, loans_of
from finishing.services.day_stretches import StretchLine
from finishing.services.errors import Fault

OWN_CREW = "Is the crew that this member is in."


def _helped() -> OwnRelated[Crew]:
    return OwnRelated(Crew, help_text="that is helped")


class LoanSerializer(RowSerializer[Loan]):
    member = OwnRelated(CrewMember)
    crew = _helped()
    day = Day()

    fixed = ("member", "day")

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:
        helped = values.get("crew")
        if self.instance and helped and helped.pk == self.instance.member.crew_id:
            return [Fault("crew", OWN_CREW)]
        return []


class NewLoans(NewDays):
    member = OwnRelated(CrewMember)
    crew = _helped()

    named = ("member", "crew")

    def rule_faults(self, values: Mapping[str, Any], line: StretchLine) -> Iterable[Fault]:
        member, helped = values["member"], values["crew"]
        if helped.pk == member.crew_id:
            return [Fault("crew", OWN_CREW)]
        return loan_faults([line], loans_of(member.crew))


class MadeLoans(serializers.Serializer[Any]):
    results = LoanSerializer(many=True)


class LoanListing(DayListing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    member = serializers.UUIDField(required=False, source="member__public_id")


class Loans(DayRows[Loan]):
    """Who works with which other crew on which day."""

    model = Loan
    lookup_value_converter = "loan"
    serializer_class = LoanSerializer
    new = NewLoans
    query = LoanListing
    related = ("member__crew__company", "crew")
    logs = (Change.What.LOAN,)

    @described_as(request=NewLoans, responses={201: MadeLoans})
    def create(self, request: Request) -> Response:
        """Make one for each day, all of them or none."""
        return super().create(request)

    def make_days(self, values: Mapping[str, Any]) -> Iterable[Loan]:
        member, line = values["member"], line_of(values, NewLoans.named)
        edit_loans(crew=member.crew, lines=[line])
        rows = self.get_queryset().filter(member=member)
        return rows.filter(day__range=(line.first_day, line.last_day)).order_by("day")
