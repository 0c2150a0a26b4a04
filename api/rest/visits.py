"""/api/v1/visits/: what crews have been told, as it is by now."""

from typing import Any

from django.db.models import F, QuerySet
from rest_framework import serializers

from api.rest.fields import Instant, OwnRelated
from api.rest.query import Flag, Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import Crew, House
from finishing.queries.rights import Right
from scheduling.models import Visit
from scheduling.visit_wording import visit_title


class ToldTaskSerializer(serializers.Serializer[Any]):
    key = serializers.CharField(help_text="what a report of it names")
    stage = serializers.CharField()
    room = serializers.CharField(help_text="by name; of an odd job blank")


class VisitSerializer(RowSerializer[Visit]):
    uid = serializers.UUIDField(help_text="the same in calendars as long as it goes on")
    sequence = serializers.IntegerField(help_text="counts up with each change")
    crew = OwnRelated(Crew, read_only=True)
    house = OwnRelated(House, read_only=True)
    starts_at = Instant()
    ends_at = Instant()
    cancelled_at = Instant(allow_null=True, help_text="null: it stands")
    modified_at = Instant()
    title = serializers.SerializerMethodField()
    tasks = ToldTaskSerializer(source="content.tasks", many=True)

    def get_title(self, visit: Visit) -> str:
        return visit_title(visit.content)


class VisitListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    house = serializers.UUIDField(required=False, source="house__public_id")
    overlaps_from = Instant(required=False, source="ends_at__gt")
    overlaps_to = Instant(required=False, source="starts_at__lt")
    stands = Flag(required=False, source="cancelled_at__isnull", help_text="is not cancelled")


class Visits(Rows[Visit]):
    """Published visits: a crew at a house for one unbroken block of work."""

    needs = Right.VISITS
    model = Visit
    lookup_value_converter = "visit"
    serializer_class = VisitSerializer
    query = VisitListing
    related = ("crew", "house")

    def get_queryset(self) -> QuerySet[Visit]:
        # Says no more; the database looks among the company's houses then, not among all there are.
        return super().get_queryset().filter(house__company=F("company"))
