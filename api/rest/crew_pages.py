"""/api/v1/crew-pages/: crews' pages for a phone, each by a secret address that may report."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.access import rights_of_asker
from api.rest.fields import Instant, OwnRelated
from api.rest.query import Flag, Listing
from api.rest.rows import Made
from api.rest.secret_addresses import SecretAddresses
from api.rest.serializers import RowSerializer
from finishing.models import Crew
from finishing.queries.rights import Right
from finishing.services.errors import Fault
from scheduling.models import CrewPage
from scheduling.services.links import make_page, page_address


class CrewPageSerializer(RowSerializer[CrewPage]):
    crew = OwnRelated(Crew, help_text="whose page it is; each has one at most")
    address = serializers.SerializerMethodField(
        help_text="secret: who has it may report. Blank: it is revoked or cannot be shown, who asks"
        " may not report, or this answer is given again for its Idempotency-Key"
    )
    generation = serializers.IntegerField(read_only=True, help_text="of its address; from 1")
    revoked_at = Instant(read_only=True, allow_null=True)

    def get_address(self, page: CrewPage) -> str:
        may_see = Right.REPORT in rights_of_asker(self.context["request"])
        return page_address(page) if may_see and not page.revoked_at else ""

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if "crew" in values and CrewPage.objects.filter(crew=values["crew"]).exists():
            yield Fault("crew", "has its page already: renew its address")


class CrewPageListing(Listing):
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    works = Flag(required=False, source="revoked_at__isnull", help_text="is not revoked")


class CrewPages(Made[CrewPage], SecretAddresses[CrewPage]):
    """Crews' pages for a phone. Their addresses are secret, and others than those of calendars."""

    needs = Right.PLAN
    model = CrewPage
    lookup_value_converter = "crew_page"
    serializer_class = CrewPageSerializer
    query = CrewPageListing
    related = ("crew",)

    def make(self, values: Mapping[str, Any]) -> CrewPage:
        return make_page(crew=values["crew"])
