"""/api/v1/publications/: what crews were told, publishing, and taking the last back."""

from collections.abc import Mapping
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.described import described_as
from api.rest.errors import Conflict, Overtaken, QueryFaults
from api.rest.fields import Instant, OwnRelated
from api.rest.publication_changes import (
    PendingSerializer,
    RevisedSerializer,
    SinceQuery,
    pending_body,
)
from api.rest.query import Listing
from api.rest.rows import Rows
from api.rest.serializers import RowSerializer, Strict
from finishing.services.errors import Fault
from scheduling.jobs import tell_odds_soon
from scheduling.models import Plan, Publication
from scheduling.publish_wording import take_back_refusal
from scheduling.queries.revision_changes import visits_revised
from scheduling.services.publish import (
    OvertakenError,
    PublishError,
    after_publishing,
    pending_publication,
    store_publication,
)
from scheduling.services.take_back import TakeBackError, store_taking_back


class PublicationSerializer(RowSerializer[Publication]):
    revision = serializers.IntegerField(help_text="counts up from 1")
    published_at = Instant()
    plan = OwnRelated(
        Plan, read_only=True, allow_null=True, help_text="null: crews are told of no work"
    )
    takes_back = OwnRelated(
        Publication, read_only=True, allow_null=True, help_text="the revision that it undoes"
    )


class LookedAtSerializer(Strict):
    plan = OwnRelated(Plan, help_text="the working plan as it was looked at")


class PublicationListing(Listing):
    published_from = Instant(required=False, source="published_at__gte")
    published_to = Instant(
        required=False, source="published_at__lt", help_text="itself not included"
    )
    revision = serializers.IntegerField(required=False, min_value=1, max_value=2**31 - 1)


class Publications(Rows[Publication]):
    """Revisions that crews were told. Their visits keep their identity from one to the next."""

    model = Publication
    lookup_value_converter = "publication"
    serializer_class = PublicationSerializer
    query = PublicationListing
    related = ("plan", "takes_back")

    def check_query(self, request: Request) -> None:
        if self.action == "changes":
            self.asked = SinceQuery.read(request, company=self.company(request))
        else:
            super().check_query(request)

    @described_as(
        request=LookedAtSerializer,
        responses={200: PublicationSerializer, 201: PublicationSerializer},
    )
    def create(self, request: Request) -> Response:
        """Publish the plan that was looked at; 200 where crews know all of it already. Refused
        where another is the working plan by now, or where it may not be published any more."""
        company = self.company(request)
        sent = LookedAtSerializer(data=request.data, context={"company": company})
        sent.is_valid(raise_exception=True)
        plan = sent.validated_data["plan"]
        try:
            done = store_publication(company=company, now=self.now(), looked_at=plan, by=self.who())
        except OvertakenError as error:
            raise Overtaken("replanned", str(error)) from None
        except PublishError as error:
            raise Conflict(str(error)) from None
        return self._told(done.publication, status=201 if done.is_new else 200)

    @described_as(responses=PendingSerializer)
    @action(detail=False, conflicts=("GET",))
    def pending(self, request: Request) -> Response:
        """Return what publishing the working plan would tell crews now; nothing is stored."""
        try:
            found = pending_publication(company=self.company(request), now=self.now())
        except PublishError as error:
            raise Conflict(str(error)) from None
        return Response(PendingSerializer(pending_body(found)).data)

    @described_as(parameters=[SinceQuery], responses=RevisedSerializer)
    @action(detail=True)
    def changes(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Return what differs, visit by visit, from the revision before, or from an older one."""
        later = self.row(public_id)
        since: Publication | None = self.asked.get("since")
        earlier = since.revision if since else later.revision - 1
        if earlier >= later.revision:
            raise QueryFaults([Fault("since", "is not earlier")])
        body: Mapping[str, Any] = {
            "revision": later.revision,
            "since": earlier,
            "visits": visits_revised(later, earlier),
        }
        return Response(RevisedSerializer(body).data)

    @described_as(request=None, responses={201: PublicationSerializer})
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request: Request, public_id: UUID) -> Response:
        """Show crews again what they saw before the last revision: a revision of its own."""
        company, row = self.company(request), self.row(public_id)
        try:
            done = store_taking_back(
                company=company, revision=row.revision, now=self.now(), by=self.who()
            )
        except TakeBackError as error:
            raise Overtaken(error.code, take_back_refusal(error.code, error.values)) from None
        except PublishError as error:
            raise Conflict(str(error)) from None
        return self._told(done, status=201)

    def _told(self, publication: Publication, *, status: int) -> Response:
        """Return the answer to a publication; what calendars tell of it is made afterwards."""
        company, now = publication.company, self.now()
        after = partial(after_publishing, company=company, now=now, tell=tell_odds_soon)
        transaction.on_commit(after, robust=True)
        return self.changed(publication, status=status)
