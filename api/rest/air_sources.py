"""GET /api/air-sources/: where a company's air comes from."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.resource import CompanyResource
from finishing.models import AirSource


class AirSourceSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField(source="public_id")
    name = serializers.CharField()
    kind = serializers.ChoiceField(AirSource.Kind.choices)


class AirSources(CompanyResource):
    @extend_schema(responses=AirSourceSerializer(many=True))
    def get(self, request: Request) -> Response:
        """Return the company's sources of air, by name."""
        rows = AirSource.objects.filter(company=self.company(request)).order_by("name")
        return Response(AirSourceSerializer(rows, many=True).data)
