"""/api/v1/obstacles/: why crews could not work, their photos, and that it is settled."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request

from api.rest.crew_words import CrewWords, CrewWordSerializer
from api.rest.described import described_as
from finishing.rules.vocabulary import Readiness
from scheduling.models import Obstacle
from scheduling.services.photos import photo_path


class ObstacleSerializer(CrewWordSerializer[Obstacle]):
    reason = serializers.ChoiceField(Obstacle.Reason.choices)
    item = serializers.ChoiceField([line.value for line in Readiness], allow_blank=True)
    note = serializers.CharField()
    has_photo = serializers.SerializerMethodField()

    def get_has_photo(self, row: Obstacle) -> bool:
        return bool(row.photo)


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


class Obstacles(CrewWords[Obstacle]):
    """What kept crews from a visit; open until somebody settles it."""

    model = Obstacle
    lookup_value_converter = "obstacle"
    serializer_class = ObstacleSerializer

    @described_as(responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    @action(detail=True, content_negotiation_class=WhateverIsAccepted)
    def photo(self, request: Request, public_id: UUID) -> HttpResponse:  # noqa: ARG002
        """Return the photo that came with it."""
        row = self.row(public_id)
        path = photo_path(row.company, row.photo)
        if not row.photo or not path.exists():
            raise NotFound("It has no photo.")
        headers = {"Cache-Control": "private, no-cache"}
        return HttpResponse(path.read_bytes(), content_type="image/jpeg", headers=headers)
