"""POST /api/v1/air-sources/<uuid>/hours/: hours of a station's or a logger's air."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Conflict, TooLarge
from api.rest.parsers import MOST_HOURS, HoursParser
from api.rest.query import yes
from api.rest.resource import CompanyResource
from finishing.models import AirSource
from finishing.services.air import store_air
from finishing.services.air_entries import read_air_entries


class HourSerializer(serializers.Serializer[Any]):
    at = serializers.DateTimeField(help_text="with an offset or Z")
    temperature_c = serializers.FloatField(required=False, help_text="or temperature_f, in all")
    temperature_f = serializers.FloatField(required=False)
    humidity_percent = serializers.FloatField(min_value=0, max_value=100)


class StoredHoursSerializer(serializers.Serializer[Any]):
    stored = serializers.IntegerField(help_text="UTC hours")
    first = serializers.DateTimeField()
    last = serializers.DateTimeField()


class AirSourceHours(CompanyResource):
    parameters = {"POST": ("holes",)}
    parser_classes = (HoursParser,)

    @described_as(
        parameters=[OpenApiParameter("holes", str, enum=["yes", "no"], description="may be there")],
        request=HourSerializer(many=True),
        responses=StoredHoursSerializer,
    )
    def post(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Store hours of air; those stored before are overwritten. On any fault nothing is.

        At most 100,000 in one call.
        """
        store_air(source=self.source, readings=self.readings)
        first, last = min(self.readings), max(self.readings)
        body = {"stored": len(self.readings), "first": first, "last": last}
        return Response(StoredHoursSerializer(body).data)

    def before(self, request: Request, **address: Any) -> None:
        """Read the hours: seconds, where they are many, in which others may write."""
        self.source = self._source(request, address["public_id"])
        if isinstance(request.data, list) and len(request.data) > MOST_HOURS:
            raise TooLarge(f"At most {MOST_HOURS:,} hours in one call: send them in several.")
        kind, holes = AirSource.Kind(self.source.kind), yes(request, "holes")
        self.readings = read_air_entries(request.data, kind=kind, holes=holes)

    def _source(self, request: Request, public_id: UUID) -> AirSource:
        source = self.own(request, AirSource, public_id)
        if source.kind not in {AirSource.Kind.STATION, AirSource.Kind.LOGGER}:
            raise Conflict("Hours are taken for a station or a logger; this source is neither.")
        return source
