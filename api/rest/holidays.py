"""/api/v1/holidays/: days on which no crew works, but for extra hours."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import who_asks
from api.rest.days import DayListing
from api.rest.described import described_as
from api.rest.fields import Day, Text, YesNo
from api.rest.query import Flag
from api.rest.resource import CompanyResource
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Holiday
from finishing.services.company_log import logged
from finishing.services.errors import Fault
from finishing.services.holidays import (
    HolidayLine,
    edit_holiday,
    edit_holidays,
    holiday_faults,
    refresh_holidays,
)


class HolidaySerializer(RowSerializer[Holiday]):
    day = Day()
    name = Text(max_length=120)
    is_own = YesNo(read_only=True, help_text="false: a public holiday, as it was fetched")

    def faults(self, values: Mapping[str, Any]) -> Iterable[Fault]:
        if "day" not in values:
            return []
        others = Holiday.objects.filter(company=self.context["company"], day=values["day"])
        found = holiday_faults(
            [_line(values["day"], "")], [row for row in others if row != self.instance]
        )
        return [replace(fault, place="day") for fault in found]


def _line(day: Any, name: str, **seen: Any) -> HolidayLine:
    return HolidayLine("holiday", day, name, **seen)


class HolidayListing(DayListing):
    is_own = Flag(required=False)


class Holidays(Editable[Holiday]):
    """Public holidays of the company's country, and days of its own."""

    model = Holiday
    lookup_value_converter = "holiday"
    serializer_class = HolidaySerializer
    query = HolidayListing
    logs = (Change.What.HOLIDAY,)

    def make(self, values: Mapping[str, Any]) -> Holiday:
        company = self.company(self.request)
        edit_holidays(company=company, lines=[_line(values["day"], values["name"])])
        return Holiday.objects.get(company=company, day=values["day"])

    def edit(self, row: Holiday, values: Mapping[str, Any]) -> None:
        edit_holiday(holiday=row, version=row.version, values=values)

    def remove(self, row: Holiday) -> None:
        line = _line(row.day, row.name, public_id=row.public_id, version=row.version, remove=True)
        edit_holidays(company=self.company(self.request), lines=[line])


class FetchedSerializer(serializers.Serializer[Any]):
    public_holidays = serializers.IntegerField(help_text="there are, of this year and the next")


class FetchedHolidays(CompanyResource):
    @described_as(request=None, responses=FetchedSerializer)
    def post(self, request: Request) -> Response:
        """Store the public holidays of the company's country, of this year and the next; days of
        the company's own stay."""
        company, now = self.company(request), timezone.now()
        year = now.astimezone(ZoneInfo(company.zone)).year
        with logged(company, [Change.What.HOLIDAY], by=who_asks(request), now=now):
            count = refresh_holidays(company=company, years=(year, year + 1))
        return Response(FetchedSerializer({"public_holidays": count}).data)
