"""/api/v1/edits/: who changed what, from what to what."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.access import may_plan
from api.rest.fields import Choice, Instant, OwnRelated
from api.rest.query import Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import Change, House
from finishing.queries.company_changes import shown_changes, shown_fields


class EditSerializer(RowSerializer[Change]):
    house = OwnRelated(House, read_only=True, allow_null=True, help_text="null: the company's")
    at = Instant(read_only=True)
    by = serializers.StringRelatedField(  # type: ignore[var-annotated]
        allow_null=True, read_only=True, help_text="null: a program, or a command"
    )
    program = serializers.CharField(read_only=True, help_text="of the API, by its token's name")
    kind = Choice(Change.Kind.values, read_only=True)
    what = Choice(Change.What.values, read_only=True)
    place = serializers.CharField(read_only=True, help_text="by name, as it was then")
    changed = serializers.SerializerMethodField(
        help_text="by field what it was and what it became, null for nothing"
    )

    @extend_schema_field({"type": "object", "additionalProperties": {"type": "array", "items": {}}})
    def get_changed(self, row: Change) -> Any:
        return shown_fields(row, with_prices=self.context["may_plan"])


class EditListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")
    what = Choice(Change.What.values, required=False)
    at_from = Instant(required=False, source="at__gte")
    at_to = Instant(required=False, source="at__lt")


class Edits(Rows[Change]):
    """What people and programs did to houses and to what the company plans with."""

    model = Change
    lookup_value_converter = "edit"
    serializer_class = EditSerializer
    query = EditListing
    related = ("house", "by")

    def get_queryset(self) -> QuerySet[Change]:
        """Return them without prices for who may not see those."""
        return shown_changes(super().get_queryset(), with_prices=may_plan(self.request))
