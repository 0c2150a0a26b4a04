"""/api/v1/extra-hours/: hours of a day in which a crew works besides its own."""

from collections.abc import Iterable, Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.days import DayListing, DayRows, NewDays, line_of, without_line
from api.rest.described import described_as
from api.rest.fields import Clock, Day, OwnRelated
from api.rest.serializers import RowSerializer
from finishing.models import Change, Crew, ExtraHours
from finishing.services.crew_days import edit_extra_hours, extra_hours_faults, extra_hours_of
from finishing.services.day_stretches import StretchLine
from finishing.services.errors import Fault
from finishing.services.one_day import day_faults


class ExtraHoursSerializer(RowSerializer[ExtraHours]):
    crew = OwnRelated(Crew)
    day = Day()
    start = Clock(help_text="on the crew's clock")
    end = Clock()

    fixed = ("crew", "day")

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:
        return without_line(day_faults(self.instance, values)) if self.instance else []


class NewExtraHours(NewDays):
    crew = OwnRelated(Crew)
    start = Clock(help_text="on the crew's clock")
    end = Clock()

    named = ("start", "end")

    def rule_faults(self, values: Mapping[str, Any], line: StretchLine) -> Iterable[Fault]:
        crew = values.get("crew")
        return extra_hours_faults([line], extra_hours_of(crew) if crew else {})


class MadeExtraHours(serializers.Serializer[Any]):
    results = ExtraHoursSerializer(many=True)


class ExtraHoursListing(DayListing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")


class ExtraHoursDays(DayRows[ExtraHours]):
    """Hours of crews besides those of their week, at the company's price for them."""

    model = ExtraHours
    lookup_value_converter = "extra_hours"
    serializer_class = ExtraHoursSerializer
    new = NewExtraHours
    query = ExtraHoursListing
    related = ("crew__company",)
    logs = (Change.What.EXTRA_HOURS,)

    @described_as(request=NewExtraHours, responses={201: MadeExtraHours})
    def create(self, request: Request) -> Response:
        """Make them for each day, all of them or none."""
        return super().create(request)

    def make_days(self, values: Mapping[str, Any]) -> Iterable[ExtraHours]:
        crew, line = values["crew"], line_of(values, NewExtraHours.named)
        edit_extra_hours(crew=crew, lines=[line])
        rows = self.get_queryset().filter(crew=crew, start=values["start"])
        return rows.filter(day__range=(line.first_day, line.last_day)).order_by("day")
