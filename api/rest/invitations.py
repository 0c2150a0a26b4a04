"""/api/v1/invitations/: who has been invited to sign in, and has not yet; for owners."""

from collections.abc import Iterator, Mapping
from functools import partial
from typing import Any
from uuid import UUID

from django.core.validators import EmailValidator
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import rights_of_asker, token_of
from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.fields import Choice, Instant, OwnRelated, Text
from api.rest.rows import Made
from api.rest.serializers import RowSerializer
from finishing.models import Crew, Invitation, Role
from finishing.queries.people import open_invitations
from finishing.queries.rights import Right, may_give
from finishing.services.errors import Fault
from finishing.services.invitations import (
    invitation_faults,
    invitation_link,
    invite,
    is_open,
    send_invitation,
    was_just_mailed,
    withdraw_invitation,
)


class InvitationSerializer(RowSerializer[Invitation]):
    email = Text(max_length=254, validators=[EmailValidator()])
    role = Choice(Role.values, help_text="a program gives none that may do more than it may itself")
    crew = OwnRelated(
        Crew, required=False, allow_null=True, help_text="that a crew lead leads; nobody else's"
    )
    invited_by = serializers.SerializerMethodField(help_text="by e-mail address; blank: a program")
    program = serializers.SerializerMethodField(help_text="by its token's name; blank: none")
    link = serializers.SerializerMethodField(
        help_text="secret: who opens it first chooses the password. Blank: it has ended, who asks"
        " may do less than who is invited, or this answer is given again for its Idempotency-Key"
    )
    mailed_at = Instant(
        read_only=True,
        allow_null=True,
        help_text="last; null: no mail server has taken it, so give them the link yourself."
        " It is sent once the answer is on its way",
    )
    expires_at = Instant(read_only=True)
    used_at = Instant(read_only=True, allow_null=True)
    withdrawn_at = Instant(read_only=True, allow_null=True)

    def get_invited_by(self, row: Invitation) -> str:
        return row.invited_by.email if row.invited_by else ""

    def get_program(self, row: Invitation) -> str:
        return row.program.name if row.program else ""

    def get_link(self, row: Invitation) -> str:
        may_see = may_give(row.role, by=rights_of_asker(self.context["request"]))
        return invitation_link(row) if may_see and is_open(row, now=timezone.now()) else ""

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        return invitation_faults(
            company=self.context["company"],
            email=values.get("email", ""),
            role=values.get("role", Role.VIEWER),
            crew=values.get("crew"),
            program=self.context["program"],
            now=timezone.now(),
        )


class Invitations(Made[Invitation]):
    """Invitations by e-mail, good once and for seven days, one by a program for no longer than its
    token. The list has those that may still be
    used; inviting the same address again ends the one before."""

    needs = Right.OWN
    secrets = ("link",)
    model = Invitation
    lookup_value_converter = "invitation"
    serializer_class = InvitationSerializer
    related = ("crew", "invited_by", "program")

    def get_queryset(self) -> QuerySet[Invitation]:
        rows = super().get_queryset()
        if self.action != "list":
            return rows
        return rows.filter(pk__in=open_invitations(self.company(self.request), self.now()))

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "program": token_of(self.request)}

    def make(self, values: Mapping[str, Any]) -> Invitation:
        invitation = invite(
            company=self.company(self.request),
            email=values["email"],
            role=Role(values["role"]),
            crew=values.get("crew"),
            by=self.who(),
            now=self.now(),
            program=token_of(self.request),
        )
        self._mail(invitation)
        return invitation

    @described_as(request=None, responses=InvitationSerializer)
    @action(detail=True, methods=["post"])
    def send(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Have the mail sent again, with the same link; refused where it has ended, or one was
        sent less than a minute ago."""
        row = self.row(public_id)
        if not is_open(row, now=self.now()):
            raise Overtaken("ended", "It was used or withdrawn, or is too old: invite them again.")
        if was_just_mailed(row, now=self.now()):
            raise Overtaken("mailed", "A mail was sent less than a minute ago: wait a little.")
        self._mail(row)
        return self.changed(row)

    @described_as(request=None, responses=InvitationSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """End it: its link says so from now on. One that has ended stays as it is."""
        row = self.row(public_id)
        withdraw_invitation(invitation=row, by=self.who(), now=self.now())
        return self.changed(row)

    def _mail(self, invitation: Invitation) -> None:
        """Send it once it is stored: no mail server is waited for while rows are held."""
        send = partial(send_invitation, invitation, now=self.now())
        transaction.on_commit(send, robust=True)
