"""POST /api/v1/houses/<uuid>/readings/: what somebody read off an instrument in a house."""

from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.hours import HourSerializer
from api.rest.resource import CompanyResource
from finishing.services.reading_entries import read_reading_entry
from finishing.services.readings import note_reading


class ReadingSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField()
    temperature_c = serializers.FloatField()
    humidity_percent = serializers.FloatField()


class HouseReadings(CompanyResource):
    @described_as(request=HourSerializer, responses={201: ReadingSerializer})
    def post(self, request: Request, public_id: UUID) -> Response:
        """Store a reading; the last of a UTC hour counts."""
        house = self.house(request, public_id)
        at, reading = read_reading_entry(request.data, now=timezone.now())
        note_reading(house=house, reading=reading, at=at)
        body = {
            "at": at,
            "temperature_c": reading.temperature_c,
            "humidity_percent": round(100 * reading.humidity, 2),
        }
        return Response(ReadingSerializer(body).data, status=status.HTTP_201_CREATED)
