"""/api/v1/publications/reached/: whom the newest publication has reached."""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Conflict
from api.rest.fields import Instant
from api.rest.resource import CompanyResource
from finishing.queries.rights import Right
from scheduling.queries.reached import NewestReached, newest_reached


class ReachedLinkSerializer(serializers.Serializer[Any]):
    feed = serializers.UUIDField(source="public_id")
    fetched_at = Instant(allow_null=True, help_text="null: never")
    fetched_by = serializers.CharField(help_text="what asked for it last")
    fetched_revision = serializers.IntegerField(help_text="0: none")


class ReachedCrewSerializer(serializers.Serializer[Any]):
    crew = serializers.UUIDField(source="crew.public_id")
    has_fetched = serializers.BooleanField(help_text="a calendar of it has this revision")
    seen_at = Instant(allow_null=True, help_text="when the crew has confirmed it on its page")
    feeds = ReachedLinkSerializer(source="links", many=True)


class ReachedSerializer(serializers.Serializer[NewestReached]):
    publication = serializers.UUIDField(source="publication.public_id")
    revision = serializers.IntegerField(source="publication.revision")
    crews = ReachedCrewSerializer(many=True)


class ReachedCrews(CompanyResource):
    needs = Right.PLAN
    conflicts = ("GET",)

    @described_as(responses=ReachedSerializer)
    def get(self, request: Request) -> Response:
        """Return for each crew that gets work which of its calendars have the newest publication,
        and whether it has said that it has seen it."""
        found = newest_reached(self.company(request))
        if found is None:
            raise Conflict("Nothing is published yet.")
        return Response(ReachedSerializer(found).data)
