"""/api/v1/tokens/: which programs may do what; for owners."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import token_of
from api.rest.described import described_as
from api.rest.errors import Overtaken
from api.rest.fields import Instant, OwnRelated, Several, Text
from api.rest.rows import Made
from api.rest.serializers import RowSerializer
from finishing.models import ApiToken, User
from finishing.queries.rights import SCOPES, Right
from finishing.services.errors import Fault
from finishing.services.tokens import draft_token, is_good, make_token, revoke_token, token_faults


class TokenSerializer(RowSerializer[ApiToken]):
    name = Text(max_length=120, help_text="of the program; no two tokens have the same")
    in_name_of = OwnRelated(
        User,
        source="person",
        required=False,
        allow_null=True,
        help_text="a person: it may do no more than they may, and ends with their sign-in; null: a"
        " machine. Of one that a program makes: whoever that program asks for",
    )
    scopes = Several(
        SCOPES,
        allow_empty=False,
        help_text="a program gives a token no more than it may do itself",
    )
    expires_at = Instant(
        required=False,
        allow_null=True,
        help_text="null: good until it is revoked, or as long as the token of the program that"
        " makes it",
    )
    secret = serializers.SerializerMethodField(
        help_text="shown once, when it is made; else blank, also where that answer is given again"
        " for its Idempotency-Key"
    )
    ending = serializers.CharField(read_only=True, help_text="of its secret")
    works = serializers.SerializerMethodField(help_text="it may be used")
    made_at = Instant(read_only=True)
    made_by = serializers.SerializerMethodField(
        help_text="by e-mail address; blank: a program or a command"
    )
    made_with = serializers.SerializerMethodField(
        help_text="the name of the token by which a program made it, and with which it ends;"
        " blank: none"
    )
    used_at = Instant(read_only=True, allow_null=True, help_text="last, to the minute")
    revoked_at = Instant(read_only=True, allow_null=True)

    def get_secret(self, _token: ApiToken) -> str:
        return str(self.context["secret"])

    def get_works(self, token: ApiToken) -> bool:
        return is_good(token, now=timezone.now())

    def get_made_by(self, token: ApiToken) -> str:
        return token.made_by.email if token.made_by else ""

    def get_made_with(self, token: ApiToken) -> str:
        return token.parent.name if token.parent else ""

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        token, _secret = draft_token(
            company=self.context["company"],
            name=values.get("name", ""),
            scopes=_rights(values),
            person=values.get("person"),
            expires_at=values.get("expires_at"),
            program=self.context["program"],
            now=timezone.now(),
        )
        return token_faults(token)


def _rights(values: Mapping[str, Any]) -> list[Right]:
    return [Right(scope) for scope in values.get("scopes", ())]


class Tokens(Made[ApiToken]):
    """Tokens by which programs ask. One that a program makes has no more rights than its own, no
    other name and no later end, and is revoked with it."""

    needs = Right.OWN
    writes = Right.OWN
    secrets = ("secret",)
    model = ApiToken
    lookup_value_converter = "token"
    serializer_class = TokenSerializer
    related = ("person__company", "made_by", "parent")

    secret = ""  # nosec B105

    def get_serializer_context(self) -> dict[str, Any]:
        said = {"secret": self.secret, "program": token_of(self.request)}
        return {**super().get_serializer_context(), **said}

    def make(self, values: Mapping[str, Any]) -> ApiToken:
        token, self.secret = make_token(
            company=self.company(self.request),
            name=values["name"],
            scopes=_rights(values),
            person=values.get("person"),
            expires_at=values.get("expires_at"),
            made_by=self.who(),
            program=token_of(self.request),
            now=self.now(),
        )
        return token

    @described_as(request=None, responses=TokenSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """End it at once, with the tokens and open invitations that its program made."""
        row = self.row(public_id)
        if row.revoked_at:
            raise Overtaken("revoked", "It is revoked already.")
        revoke_token(token=row, version=row.version, now=self.now(), by=self.who())
        return self.changed(row)
