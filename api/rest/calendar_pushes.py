"""/api/v1/calendar-pushes/: calendars on other servers that are kept as a feed is."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from django.db.models import Count, QuerySet
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.endpoint_fields import EndpointSerializer
from api.rest.fields import Instant, OwnRelated, Text
from api.rest.query import Flag, Listing, yes
from api.rest.rows import Editable
from finishing.queries.rights import Right
from finishing.services.errors import Fault
from scheduling.models import CalendarPush, FeedLink
from scheduling.outgoing_wording import address_fault
from scheduling.services.endpoints import remove_endpoint, switch
from scheduling.services.pushes import (
    LONGEST_PASSWORD,
    add_push,
    edit_sign_in,
    empty_push,
    push_faults,
)

SIGN_IN = ("username", "password")
LEFT = "leave_entries"
"""Of a query: what was put there stays."""


class CalendarPushSerializer(EndpointSerializer[CalendarPush]):
    feed = OwnRelated(FeedLink, source="link", help_text="that it holds; stays")
    username = Text(max_length=200, required=False, allow_blank=True, help_text="on that server")
    password = serializers.CharField(
        max_length=LONGEST_PASSWORD,
        required=False,
        allow_blank=True,
        trim_whitespace=False,
        write_only=True,
        help_text="on that server; never shown. Best one that is for this alone",
    )
    entries = serializers.IntegerField(
        source="entry_count", read_only=True, help_text="of ours that are there"
    )
    ending_at = Instant(
        read_only=True,
        allow_null=True,
        help_text="since when they are being taken out, to be removed then",
    )

    fixed = ("feed", "address")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if self.instance:
            return
        if values.get("is_on") is False:
            yield Fault("is_on", "cannot be said of a new one")
        if "link" in values and values["link"].revoked_at is not None:
            yield Fault("link", "is revoked")
        if "address" in values:
            found = push_faults(company=self.context["company"], address=values["address"])
            yield from (Fault(fault.place, address_fault(fault.text)) for fault in found)


class CalendarPushListing(Listing):
    feed = serializers.UUIDField(required=False, source="link__public_id")
    is_on = Flag(required=False, source="off_at__isnull")


class CalendarPushes(Editable[CalendarPush]):
    """Collections of calendar servers (RFC 4791), brought up to date after each publication; what
    was sent to each is in deliveries. One that is removed first has its entries taken out there,
    for half a day and as often as this is asked again, unless they are to be left."""

    needs = Right.PLAN
    writes = Right.OWN
    model = CalendarPush
    lookup_value_converter = "calendar_push"
    serializer_class = CalendarPushSerializer
    query = CalendarPushListing
    related = ("link",)
    parameters = {"DELETE": (LEFT,)}

    def check_query(self, request: Request) -> None:
        super().check_query(request)
        self.leaves = yes(request, LEFT)

    def get_queryset(self) -> QuerySet[CalendarPush]:
        return super().get_queryset().annotate(entry_count=Count("entries"))

    def make(self, values: Mapping[str, Any]) -> CalendarPush:
        return add_push(
            link=values["link"],
            address=values["address"],
            username=values.get("username", ""),
            password=values.get("password", ""),
            now=self.now(),
            by=self.who(),
        )

    def edit(self, row: CalendarPush, values: Mapping[str, Any]) -> None:
        if "is_on" in values:
            on, version = values["is_on"], row.version
            switch(endpoint=row, version=version, on=on, now=self.now(), by=self.who())
        sign_in = {name: values[name] for name in SIGN_IN if name in values}
        if sign_in:
            edit_sign_in(push=row, version=row.version, now=self.now(), **sign_in)

    @described_as(
        parameters=[OpenApiParameter(LEFT, str, enum=["yes", "no"], description="there")],
        responses={202: CalendarPushSerializer, 204: None},
    )
    def destroy(self, request: Request, public_id: UUID) -> Response:
        """Remove it."""
        return super().destroy(request, public_id)

    def remove(self, row: CalendarPush) -> None:
        seen: Any = {"version": row.version, "now": self.now(), "by": self.who()}
        if row.entries.exists() and not self.leaves:
            empty_push(push=row, **seen)
        else:
            remove_endpoint(endpoint=row, **seen)

    def removed(self, row: CalendarPush) -> Response:
        return super().removed(row) if row.pk is None else self.changed(row, status=202)
