"""GET /api/v1/houses/<uuid>/history/: what has happened in a house, in one list."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from api.rest.described import described_as
from api.rest.errors import QueryFaults
from api.rest.fields import Choice, Instant
from api.rest.query import Listing
from api.rest.resource import CompanyResource
from finishing.services.errors import Fault
from scheduling.queries.history import Place, Source
from scheduling.services.house_history import Event, house_history

LARGEST_KEY = 2**63 - 1


class HistoryListing(Listing):
    kind = Choice([source.value for source in Source], required=False)


class EventSerializer(serializers.Serializer[Event]):
    kind = serializers.ChoiceField([source.value for source in Source], source="source")
    id = serializers.SerializerMethodField(
        help_text="of the visit, obstacle, extra work, note, edit or publication, where it is kept"
    )
    at = Instant(help_text="of a visit its end")
    who = serializers.CharField(help_text="a crew or somebody of the office; blank: not known")
    text = serializers.CharField(help_text="with hours of the house's zone")
    ended_at = Instant(
        allow_null=True, help_text="when a note was struck out, or what a crew said was settled"
    )
    ended_by = serializers.CharField(help_text="blank: not known, or it has not ended")

    def get_id(self, event: Event) -> UUID:
        row = event.row.publication if event.source is Source.REVISION else event.row
        public_id: UUID = row.public_id
        return public_id


class HistorySerializer(serializers.Serializer[Any]):
    next = serializers.URLField(allow_null=True, help_text="null: nothing older is known")
    results = EventSerializer(many=True)


class HouseHistories(CompanyResource):
    def check_query(self, request: Request) -> None:
        self.asked = HistoryListing.read(request)
        self.after = _place(self.asked["cursor"]) if "cursor" in self.asked else None

    @described_as(parameters=[HistoryListing], responses=HistorySerializer)
    def get(self, request: Request, public_id: UUID) -> Response:
        """Return what has happened, the newest first: visits that are over, what crews reported
        and said, edits, notes and publications."""
        house = self.house(request, public_id)
        history = house_history(company=house.company, house=house, now=timezone.now())
        kinds = [Source(self.asked["kind"])] if "kind" in self.asked else [*Source]
        limit = self.asked["limit"]
        places = list(history.index(kinds, after=self.after)[: limit + 1])
        there_is_more = len(places) > limit
        body = {
            "next": _address(request, places[limit - 1]) if there_is_more else None,
            "results": history.events(places[:limit]),
        }
        return Response(HistorySerializer(body).data)


def _address(request: Request, place: Place) -> str:
    at, source, pk = place
    cursor = f"{at.isoformat()} {source} {pk}"
    return replace_query_param(request.build_absolute_uri(), "cursor", cursor)


def _place(cursor: str) -> Place:
    try:
        at, source, key = cursor.split(" ")
        place = datetime.fromisoformat(at).astimezone(UTC), Source(source), int(key)
    except (ValueError, OverflowError):
        place = None
    if place is None or not 0 <= place[2] <= LARGEST_KEY:
        raise QueryFaults([Fault("cursor", "is none that an answer gave")])
    return place
