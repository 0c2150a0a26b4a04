"""/api/v1/pins/: work that is to be done by one crew from one moment on."""

from collections.abc import Sequence
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import BreaksRule, Overtaken
from api.rest.fields import Instant, OwnRelated
from api.rest.move_fields import NewPinSerializer, spot_of
from api.rest.query import Listing
from api.rest.rows import Removed
from api.rest.runs import FreedSerializer
from api.rest.serializers import RowSerializer
from finishing.models import Crew
from scheduling.models import Pin
from scheduling.move_wording import answer_sentence
from scheduling.queries.planned_visits import planned_visit
from scheduling.services.moving import MoveRefusedError, StaleVisitError, pin_visit
from scheduling.services.named_pins import name_pins
from scheduling.services.pins import end_pins_made_with


class PinSerializer(RowSerializer[Pin]):
    task = serializers.CharField(source="key", help_text="key")
    house = serializers.SerializerMethodField(help_text="by name; blank: it is no more")
    work = serializers.SerializerMethodField(help_text="blank: there is no such work any more")
    crew = OwnRelated(Crew, read_only=True)
    starts_at = Instant()
    made_at = Instant()
    made_by = serializers.CharField(source="made_by.email", allow_null=True, default=None)
    aside = serializers.SerializerMethodField(
        help_text="why the last run had to set it aside; null: it has not"
    )

    def get_house(self, pin: Pin) -> str:
        return str(self.context["named"][pin.pk].house)

    def get_work(self, pin: Pin) -> str:
        return str(self.context["named"][pin.pk].work)

    @extend_schema_field(FreedSerializer(allow_null=True))
    def get_aside(self, pin: Pin) -> Any:
        aside = self.context["named"][pin.pk].aside
        return FreedSerializer(aside).data if aside else None


class PinsSerializer(serializers.Serializer[Any]):
    pins = PinSerializer(many=True)


class PinListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    starts_from = Instant(required=False, source="starts_at__gte")


class Pins(Removed[Pin]):
    """Pins that have not been ended: plans keep them as long as they break no rule."""

    model = Pin
    lookup_value_converter = "pin"
    serializer_class = PinSerializer
    query = PinListing
    related = ("crew", "made_by")
    matched = ("DELETE",)
    http_method_names = ("get", "head", "post", "delete")

    def get_queryset(self) -> QuerySet[Pin]:
        return super().get_queryset().filter(ended_at=None)

    def list(self, request: Request) -> Response:  # noqa: ARG002
        """List them, in the order of their making."""
        page = self.paginate_queryset(self.get_queryset().filter(**self.filters))
        return self.get_paginated_response(self._named(page or []))

    def said(self, row: Pin) -> dict[str, Any]:
        return dict(self._named([row])[0])

    @described_as(request=NewPinSerializer, responses={201: PinsSerializer})
    def create(self, request: Request) -> Response:
        """Pin all of a planned visit's work to a crew and a moment, or none of it. Refused where
        it breaks a rule, or where the plan or the visit's pins are others than were seen."""
        context = {"company": self.company(request)}
        sent = NewPinSerializer(data=request.data, context=context)
        sent.is_valid(raise_exception=True)
        said = sent.validated_data
        visit = planned_visit(self.company(request), said["planned_visit"].public_id)
        try:
            pins = pin_visit(
                visit=visit, spot=spot_of(said), now=self.now(), seen=said["seen"], user=self.who()
            )
        except MoveRefusedError as refused:
            answer = refused.answer
            reason = answer.in_the_way.code if answer.in_the_way else answer.stays[0].code
            raise BreaksRule(reason, answer_sentence(answer)) from None
        except StaleVisitError:
            raise Overtaken("changed", "The plan or the visit's pins have changed.") from None
        return Response({"pins": self._named(pins)}, status=201)

    def remove(self, row: Pin) -> None:
        end_pins_made_with(pin=row, now=self.now(), by=self.who())

    def _named(self, pins: Sequence[Pin]) -> Any:
        company = self.company(self.request)
        named = {one.pin.pk: one for one in name_pins(company=company, pins=pins)}
        return PinSerializer(pins, many=True, context={"named": named}).data
