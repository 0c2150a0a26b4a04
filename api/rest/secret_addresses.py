"""What calendars and crews' pages have in common: a secret address, renewed and revoked."""

from uuid import UUID

from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.fields import Whole
from api.rest.rows import Rows
from api.rest.serializers import Strict
from finishing.queries.rights import Right
from finishing.services.rows import StaleRowsError
from scheduling.models import CrewPage, FeedLink
from scheduling.services.links import renew_seen_link, revoke_seen_link


class GenerationSerializer(Strict):
    generation = Whole(min_value=1, help_text="of the address that was looked at")


class SecretAddresses[R: (FeedLink, CrewPage)](Rows[R]):
    """Rows with an ``address``, whose ``generation`` says which one it is by now."""

    secrets = ("address",)

    @described_as(request=GenerationSerializer)
    @action(detail=True, methods=["post"], writes=Right.OWN)
    def renew(self, request: Request, public_id: UUID) -> Response:
        """Give it another address; the one that it had says that it has ended."""
        row, seen = self.row(public_id), self._generation(request)
        try:
            renew_seen_link(link=row, generation=seen, now=self.now(), by=self.who())
        except StaleRowsError:
            raise self._renewed() from None
        return self.changed(row)

    @described_as(request=GenerationSerializer)
    @action(detail=True, methods=["post"], writes=Right.OWN)
    def revoke(self, request: Request, public_id: UUID) -> Response:
        """End its address; renewing gives another."""
        row, seen = self.row(public_id), self._generation(request)
        try:
            revoke_seen_link(link=row, generation=seen, now=self.now(), by=self.who())
        except StaleRowsError:
            raise self._renewed() from None
        return self.changed(row)

    def _generation(self, request: Request) -> int:
        sent = GenerationSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        return int(sent.validated_data["generation"])

    def _renewed(self) -> Overtaken:
        return Overtaken("renewed", "It has another address by now.")
