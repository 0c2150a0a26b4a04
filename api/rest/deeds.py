"""/api/v1/deeds/: who published, moved, revoked or invited; for owners."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.fields import Choice, Instant
from api.rest.query import Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer
from finishing.models import Deed
from finishing.queries.rights import Right


class DeedSerializer(RowSerializer[Deed]):
    at = Instant()
    by_email = serializers.CharField(help_text="as it was then; blank: a program or a command")
    program = serializers.CharField(help_text="of the API, by its token's name; blank: none")
    code = Choice(Deed.Code.values)
    about = serializers.CharField(help_text="by name, as it was then")
    values = serializers.SerializerMethodField(help_text="what else there is to say of it")

    @extend_schema_field({"type": "object", "additionalProperties": True})
    def get_values(self, row: Deed) -> object:
        return row.values


class DeedListing(Listing):
    code = Choice(Deed.Code.values, required=False)
    at_from = Instant(required=False, source="at__gte")
    at_to = Instant(required=False, source="at__lt", help_text="itself not included")


class Deeds(Rows[Deed]):
    """The trail, which is only ever added to."""

    needs = Right.OWN
    model = Deed
    lookup_value_converter = "deed"
    serializer_class = DeedSerializer
    query = DeedListing
