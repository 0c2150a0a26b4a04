"""/api/v1/absences/: days on which a crew, or one of it, does not work."""

from collections.abc import Iterable, Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.days import DayListing, DayRows, NewDays, line_of
from api.rest.described import described_as
from api.rest.fields import Day, OwnRelated, Text
from api.rest.serializers import RowSerializer
from finishing.models import Change, Crew, CrewMember, DayOff
from finishing.services.crew_days import days_off_faults, days_off_of, edit_days_off
from finishing.services.day_stretches import StretchLine
from finishing.services.errors import Fault


def _member(**options: Any) -> OwnRelated[CrewMember]:
    said = "null: the whole crew"
    return OwnRelated(CrewMember, required=False, allow_null=True, help_text=said, **options)


def _reason() -> Text:
    return Text(max_length=120, required=False, allow_blank=True)


class AbsenceSerializer(RowSerializer[DayOff]):
    crew = OwnRelated(Crew)
    member = _member()
    day = Day()
    reason = _reason()

    fixed = ("crew", "member", "day")


class NewAbsences(NewDays):
    crew = OwnRelated(Crew)
    member = _member(default=None)
    reason = _reason()

    named = ("member", "reason")

    def rule_faults(self, values: Mapping[str, Any], line: StretchLine) -> Iterable[Fault]:
        crew, member = values.get("crew"), values.get("member")
        if crew is None:
            return []
        if member is not None and member.crew_id != crew.pk:
            return [Fault("member", "Is not in this crew.")]
        return days_off_faults(crew, [line], days_off_of(crew))


class MadeAbsences(serializers.Serializer[Any]):
    results = AbsenceSerializer(many=True)


class AbsenceListing(DayListing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    member = serializers.UUIDField(required=False, source="member__public_id")


class Absences(DayRows[DayOff]):
    """Days off of crews and of people."""

    model = DayOff
    lookup_value_converter = "day_off"
    serializer_class = AbsenceSerializer
    new = NewAbsences
    query = AbsenceListing
    related = ("crew__company", "member")
    logs = (Change.What.DAY_OFF,)

    @described_as(request=NewAbsences, responses={201: MadeAbsences})
    def create(self, request: Request) -> Response:
        """Make one for each day, all of them or none."""
        return super().create(request)

    def make_days(self, values: Mapping[str, Any]) -> Iterable[DayOff]:
        crew, line = values["crew"], _line(values)
        edit_days_off(crew=crew, lines=[line])
        rows = self.get_queryset().filter(crew=crew, member=values.get("member"))
        return rows.filter(day__range=(line.first_day, line.last_day)).order_by("day")


def _line(values: Mapping[str, Any]) -> StretchLine:
    return line_of({"reason": "", **values}, NewAbsences.named)
