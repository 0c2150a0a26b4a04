"""/api/v1/webhooks/: programs that are told of events, and what was sent to each."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.deliveries import DeliverySerializer
from api.rest.described import described_as
from api.rest.endpoint_fields import EndpointSerializer
from api.rest.errors import Overtaken
from api.rest.fields import Several
from api.rest.rows import Made, Removed
from finishing.queries.rights import Right
from finishing.services.errors import Fault, InputFaults
from scheduling.models import Webhook
from scheduling.outgoing_wording import address_fault
from scheduling.services.endpoints import remove_endpoint, switch
from scheduling.services.webhooks import add_webhook, renew_secret, send_test, webhook_faults

ACCEPTED = 202


class WebhookSerializer(EndpointSerializer[Webhook]):
    events = Several(Webhook.Event.values, allow_empty=False, help_text="stay")
    secret = serializers.SerializerMethodField(
        help_text="that signs what is sent: shown once, when it is made or renewed; else blank"
    )

    fixed = ("address", "events")

    def get_secret(self, _webhook: Webhook) -> str:
        return str(self.context.get("secret", ""))

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if self.instance:
            return
        if values.get("is_on") is False:
            yield Fault("is_on", "cannot be said of a new one")
        if {"address", "events"} <= values.keys():
            company, events = self.context["company"], values["events"]
            found = webhook_faults(company=company, address=values["address"], events=events)
            yield from (Fault(fault.place, address_fault(fault.text)) for fault in found)


class Webhooks(Made[Webhook], Removed[Webhook]):
    """Programs that are told of publications and of visits that come before a coat is dry."""

    needs = Right.PLAN
    writes = Right.OWN
    secrets = ("secret",)
    model = Webhook
    lookup_value_converter = "endpoint"
    serializer_class = WebhookSerializer

    secret = ""  # nosec B105

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "secret": self.secret}

    def make(self, values: Mapping[str, Any]) -> Webhook:
        webhook, self.secret = add_webhook(
            company=self.company(self.request),
            address=values["address"],
            events=values["events"],
            now=self.now(),
            by=self.who(),
        )
        return webhook

    def edit(self, row: Webhook, values: Mapping[str, Any]) -> None:
        if "is_on" in values:
            switch(endpoint=row, on=values["is_on"], **self.seen(row))

    def remove(self, row: Webhook) -> None:
        remove_endpoint(endpoint=row, **self.seen(row))

    def seen(self, row: Webhook) -> Any:
        """Return which version is changed, when and by whom."""
        return {"version": row.version, "now": self.now(), "by": self.who()}

    @described_as(request=None, responses=WebhookSerializer)
    @action(detail=True, methods=["post"], url_path="renew-secret")
    def renew_secret(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Give it another secret, shown once; the one before signs as well for a day."""
        row = self.row(public_id)
        self.secret = renew_secret(webhook=row, **self.seen(row))
        return self.changed(row)

    @described_as(request=None, responses={202: DeliverySerializer})
    @action(detail=True, methods=["post"])
    def test(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Have a test sent to it: signed as any event is, its ``type`` is ``webhook.test``. Answers
        the delivery, or the one of a test that still waits; refused where it is switched off."""
        try:
            row = send_test(webhook=self.row(public_id), now=self.now())
        except InputFaults as error:
            raise Overtaken("off", error.faults[0].text) from None
        said = DeliverySerializer(row, context=self.get_serializer_context()).data
        return Response(said, status=ACCEPTED)
