"""GET /api/v1/houses/<uuid>/air/: a house's air hour by hour."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Conflict
from api.rest.query import span
from api.rest.resource import CompanyResource
from scheduling.services.air_layers import KINDS
from scheduling.services.shown_air import hours_between

A_WEEK = timedelta(days=7)
LONGEST = timedelta(days=31)


class AirHourSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField(help_text="the UTC hour's start")
    temperature_c = serializers.FloatField()
    humidity_percent = serializers.FloatField()
    source_kind = serializers.ChoiceField(KINDS)
    water_left_kg = serializers.FloatField(help_text="in the coats, at the hour's end")


class AirSerializer(serializers.Serializer[Any]):
    hours = AirHourSerializer(many=True)


class HouseAir(CompanyResource):
    parameters = {"GET": ("from", "to")}
    conflicts = ("GET",)

    @described_as(
        parameters=[
            OpenApiParameter("from", str, description="UTC, 2026-03-02T00:00Z; now if left out"),
            OpenApiParameter(
                "to", str, description="a week after from if left out; at most 31 days"
            ),
        ],
        responses=AirSerializer,
    )
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return a house's air with its coats in it, as far as planning looks back and ahead."""
        now = timezone.now()
        first, end = span(request, usual_start=now, usual=A_WEEK, longest=LONGEST)
        house = self.house(request, public_id)
        hours = hours_between(house=house, now=now, first=first, end=end)
        if hours is None:
            raise Conflict("Nothing is known of this house's air, or it has no work to plan.")
        rows = [
            {
                "at": hour.hour,
                "temperature_c": round(hour.temperature_c, 2),
                "humidity_percent": round(100 * hour.humidity, 2),
                "source_kind": hour.kind,
                "water_left_kg": round(hour.water_left_kg, 3),
            }
            for hour in hours
        ]
        return Response(AirSerializer({"hours": rows}).data)
