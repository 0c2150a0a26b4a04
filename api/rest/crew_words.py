"""What crews say of a visit that the office has to settle, in whichever resource it is."""

from collections.abc import Collection
from typing import ClassVar
from uuid import UUID

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.fields import Instant, OwnRelated
from api.rest.query import Flag, Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import Crew, House
from scheduling.models import ExtraWork, Obstacle, Visit
from scheduling.services.for_the_office import settle


class CrewWordSerializer[W: (Obstacle, ExtraWork)](RowSerializer[W]):
    house = OwnRelated(House, read_only=True)
    crew = OwnRelated(Crew, read_only=True)
    visit = OwnRelated(Visit, read_only=True, allow_null=True)
    at = Instant()
    settled_at = Instant(allow_null=True, help_text="null: it is open")


class CrewWordListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    open = Flag(required=False, source="settled_at__isnull", help_text="is not settled")


class CrewWords[W: (Obstacle, ExtraWork)](Rows[W]):
    query = CrewWordListing
    related: ClassVar[Collection[str]] = ("house", "crew", "visit")

    @described_as(request=None)
    @action(detail=True, methods=["post"])
    def settle(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Note that it is settled; who did so first stays."""
        row = self.row(public_id)
        settle(row, user=self.who(), now=self.now())
        return self.changed(row)
