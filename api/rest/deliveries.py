"""/api/v1/deliveries/: what was and is to be sent to webhooks and calendars on other servers."""

from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.fields import Instant, OwnRelated
from api.rest.query import Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.queries.rights import Right
from finishing.services.rows import StaleRowsError
from scheduling.models import CalendarPush, Outgoing, Publication, Webhook
from scheduling.services.outbox import send_again

TO_SERVERS = (Outgoing.Kind.WEBHOOK, Outgoing.Kind.CALENDAR)


class DeliverySerializer(RowSerializer[Outgoing]):
    webhook = OwnRelated(Webhook, read_only=True, allow_null=True)
    calendar_push = OwnRelated(
        CalendarPush, source="calendar", read_only=True, allow_null=True, help_text="or webhook"
    )
    event = serializers.CharField(
        source="payload.type", default="", read_only=True, help_text="blank: of a calendar"
    )
    publication = OwnRelated(Publication, read_only=True, allow_null=True)
    state = serializers.ChoiceField(Outgoing.State.choices)
    created_at = Instant()
    due_at = Instant(help_text="not tried before")
    attempts = serializers.IntegerField()
    ended_at = Instant(allow_null=True, help_text="when it was sent or given up")
    error = serializers.CharField(help_text="why the last attempt failed")


class DeliveryListing(Listing):
    webhook = serializers.UUIDField(required=False, source="webhook__public_id")
    calendar_push = serializers.UUIDField(required=False, source="calendar__public_id")
    state = serializers.ChoiceField(Outgoing.State.choices, required=False)


class Deliveries(Rows[Outgoing]):
    """What webhooks are told and calendars are brought up to date with, each until it is taken or
    given up."""

    needs = Right.PLAN
    model = Outgoing
    lookup_value_converter = "outgoing"
    serializer_class = DeliverySerializer
    query = DeliveryListing
    related = ("webhook", "calendar", "publication")

    def get_queryset(self) -> QuerySet[Outgoing]:
        return super().get_queryset().filter(kind__in=TO_SERVERS)

    @described_as(request=None, responses=DeliverySerializer)
    @action(detail=True, methods=["post"])
    def again(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Send it once more, from its first attempt; refused while it waits to be sent."""
        row = self.row(public_id)
        try:
            send_again(row=row, version=row.version, now=self.now())
        except StaleRowsError:
            raise Overtaken("waiting", "It waits to be sent.") from None
        return self.changed(row)
