"""/api/v1/obstacles/: why crews could not work, their photos, and that it is settled."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.fields import Instant, OwnRelated
from api.rest.query import Flag, Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import Crew, House
from finishing.rules.vocabulary import Readiness
from scheduling.models import Obstacle, Visit
from scheduling.services.for_the_office import settle
from scheduling.services.photos import photo_path


class ObstacleSerializer(RowSerializer[Obstacle]):
    house = OwnRelated(House, read_only=True)
    crew = OwnRelated(Crew, read_only=True)
    visit = OwnRelated(Visit, read_only=True, allow_null=True)
    at = Instant()
    reason = serializers.ChoiceField(Obstacle.Reason.choices)
    item = serializers.ChoiceField([line.value for line in Readiness], allow_blank=True)
    note = serializers.CharField()
    has_photo = serializers.SerializerMethodField()
    settled_at = Instant(allow_null=True, help_text="null: it is open")

    def get_has_photo(self, row: Obstacle) -> bool:
        return bool(row.photo)


class ObstacleListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    open = Flag(required=False, source="settled_at__isnull", help_text="is not settled")


class WhateverIsAccepted(BaseContentNegotiation):
    """A picture is a picture: who asks for image/jpeg alone has its errors as JSON all the same."""

    def select_parser(self, request: Request, parsers: Any) -> Any:  # noqa: ARG002
        return parsers[0]

    def select_renderer(
        self,
        request: Request,  # noqa: ARG002
        renderers: Any,
        format_suffix: str | None = None,  # noqa: ARG002
    ) -> Any:
        return renderers[0], renderers[0].media_type


class Obstacles(Rows[Obstacle]):
    """What kept crews from a visit; open until somebody settles it."""

    model = Obstacle
    lookup_value_converter = "obstacle"
    serializer_class = ObstacleSerializer
    query = ObstacleListing
    related = ("house", "crew", "visit")

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    @action(detail=True, content_negotiation_class=WhateverIsAccepted)
    def photo(self, request: Request, public_id: UUID) -> HttpResponse:  # noqa: ARG002
        """Return the photo that came with it."""
        row = self.row(public_id)
        path = photo_path(row.company, row.photo)
        if not row.photo or not path.exists():
            raise NotFound("It has no photo.")
        headers = {"Cache-Control": "private, no-cache"}
        return HttpResponse(path.read_bytes(), content_type="image/jpeg", headers=headers)

    @extend_schema(request=None, responses=ObstacleSerializer)
    @action(detail=True, methods=["post"])
    def settle(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Note that it is settled; who did so first stays."""
        row = self.row(public_id)
        settle(row, user=self.who(), now=self.now())
        return self.changed(row)
