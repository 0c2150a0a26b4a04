"""GET /api/v1/looking-back/ and /api/v1/forecast-record/: what became of it."""

from math import isinf
from typing import Any

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.query import Query
from api.rest.resource import CompanyResource
from finishing.rules.forecast_errors import LeadError
from finishing.rules.lost_days import Cause
from scheduling.services.forecast_record import a_year_before, forecast_records
from scheduling.services.looking_back import first_of_months, look_back


class MonthsQuery(Query):
    months = serializers.IntegerField(
        min_value=1, max_value=36, default=6, help_text="this one the last"
    )


class HouseMonthSerializer(serializers.Serializer[Any]):
    house = serializers.UUIDField(source="house.public_id")
    month = serializers.DateField(help_text="its first day")
    days_worked = serializers.IntegerField(source="worked")
    days_lost = serializers.DictField(
        source="lost", child=serializers.IntegerField(), help_text=f"to {', '.join(Cause)}"
    )
    travel_minutes = serializers.IntegerField(help_text="of ways to it on the same day, as planned")
    coats_looked_at = serializers.IntegerField(source="looks")
    coats_not_dry = serializers.IntegerField(source="wet")


class MarginSerializer(serializers.Serializer[Any]):
    from_hours = serializers.SerializerMethodField(help_text="null: before the predicted hour")
    to_hours = serializers.SerializerMethodField(help_text="null: no end")
    coats_looked_at = serializers.IntegerField(source="looks")
    coats_not_dry = serializers.IntegerField(source="wet")

    def get_from_hours(self, row: Any) -> float | None:
        return None if isinf(row.low) else row.low

    def get_to_hours(self, row: Any) -> float | None:
        return None if isinf(row.high) else row.high


class LookedBackSerializer(serializers.Serializer[Any]):
    months = HouseMonthSerializer(many=True)
    waits = MarginSerializer(many=True, help_text="looks at coats by hours after the predicted one")


class LeadErrorSerializer(serializers.Serializer[Any]):
    day = serializers.IntegerField(help_text="of lead: 1 is the first 24 hours")
    hours = serializers.IntegerField(help_text="that both figures are known of")
    mean_absolute_error_k = serializers.FloatField(source="miss_c")
    mean_error_k = serializers.FloatField(source="bias_c", help_text="forecast less what came")
    mean_absolute_error_percent = serializers.SerializerMethodField(help_text="of humidity")
    mean_error_percent = serializers.SerializerMethodField()

    def get_mean_absolute_error_percent(self, row: LeadError) -> float:
        return 100 * row.miss_humidity

    def get_mean_error_percent(self, row: LeadError) -> float:
        return 100 * row.bias_humidity


class ForecastRecordSerializer(serializers.Serializer[Any]):
    air_source = serializers.UUIDField(source="source.public_id")
    against = serializers.UUIDField(
        source="against.public_id",
        help_text="a station, or its own last word of each hour",
    )
    days = serializers.IntegerField(help_text="of which the first forecast is kept")
    by_lead = LeadErrorSerializer(many=True, source="errors")


class ForecastRecordsSerializer(serializers.Serializer[Any]):
    forecasts = ForecastRecordSerializer(many=True)


class LookingBack(CompanyResource):
    def check_query(self, request: Request) -> None:
        """It is read where it is used."""

    @described_as(parameters=[MonthsQuery], responses=LookedBackSerializer)
    def get(self, request: Request) -> Response:
        """Return days lost, ways and coats found wet by house and month."""
        months = MonthsQuery.read(request)["months"]
        company, now = self.company(request), timezone.now()
        first = first_of_months(company, months, now)
        return Response(LookedBackSerializer(look_back(company=company, first=first, now=now)).data)


class ForecastRecords(CompanyResource):
    @described_as(responses=ForecastRecordsSerializer)
    def get(self, request: Request) -> Response:
        """Return how far the forecasts of the last year were off, by days of lead."""
        now = timezone.now()
        found = forecast_records(company=self.company(request), now=now, first=a_year_before(now))
        return Response(ForecastRecordsSerializer({"forecasts": found}).data)
