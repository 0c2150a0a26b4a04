"""What webhooks and calendars on other servers have in common: where, and whether they are on."""

from typing import Any

from rest_framework import serializers

from api.rest.fields import Instant, Text, YesNo
from api.rest.serializers import RowSerializer
from scheduling.models.endpoint import Endpoint
from scheduling.services.addresses import LONGEST, host_of


class IsOn(YesNo):
    """Whether something is sent to an endpoint."""

    def get_attribute(self, instance: Endpoint) -> bool:
        return instance.off_at is None


class EndpointSerializer[E: Endpoint](RowSerializer[E]):
    address = Text(
        max_length=LONGEST, write_only=True, help_text="https; stays, and is not shown again"
    )
    host = serializers.SerializerMethodField(help_text="of its address")
    is_on = IsOn(required=False, help_text="a new one is")
    made_at = Instant(read_only=True)
    answered_at = Instant(read_only=True, allow_null=True, help_text="when it last took something")
    off_at = Instant(read_only=True, allow_null=True)
    off_why = serializers.ChoiceField(Endpoint.Off.choices, allow_blank=True, read_only=True)

    def get_host(self, endpoint: Any) -> str:
        return host_of(endpoint.address)
