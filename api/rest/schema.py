"""The description of the API (OpenAPI), with what every resource shares told in one place.

It is loaded when somebody asks for it, with all of drf-spectacular.
"""

from collections.abc import Iterator
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from api.access import SAFE_METHODS
from api.rest.authentication import TokenAuthentication
from api.rest.described import hand_on
from api.rest.errors import PROBLEM_JSON
from api.rest.problems import BY_STATUS, KINDS
from api.rest.resource import CompanyResource
from api.rest.rows import Rows
from api.rest.serializers import Spelt
from finishing.services.tokens import PREFIX

ALWAYS = (401, 403, 404, 406, 422, 429)
OF_WRITES = (400, 409)
OF_BODIES = (413, 415)
OF_MATCHED = (412, 428)


class ProblemFaultSerializer(serializers.Serializer[Any]):
    """One thing wrong, and where: in the body, in a file's lines or in the query."""

    pointer = serializers.CharField(required=False, help_text="JSON pointer, #/3/humidity_percent")
    line = serializers.IntegerField(required=False, help_text="of a CSV file, from 1")
    column = serializers.CharField(required=False, help_text="of a CSV file, by its heading")
    parameter = serializers.CharField(required=False, help_text="of the query")
    detail = serializers.CharField()


class ProblemChangeSerializer(serializers.Serializer[Any]):
    """A field that has changed since the tag that If-Match names."""

    pointer = serializers.CharField()
    now = serializers.JSONField(help_text="what is so by now")
    then = serializers.JSONField(
        required=False, help_text="what was so in the version of If-Match, where that is known"
    )


class ProblemSerializer(Spelt):
    """Why a request was refused (RFC 9457)."""

    type = serializers.CharField(
        help_text="/api/v1/problems/<code>/, stable; codes: " + ", ".join(k.code for k in KINDS)
    )
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    faults = ProblemFaultSerializer(many=True, required=False, help_text="all there are (422)")
    reason = serializers.CharField(required=False, help_text="a code: what stands against it (409)")
    changes = ProblemChangeSerializer(many=True, required=False, help_text="since then (412)")
    etag = serializers.CharField(required=False, help_text="of what is so by now (412)")

    spelt = {"faults": "errors"}


def _header(name: str, said: str, *, required: bool = False) -> OpenApiParameter:
    return OpenApiParameter(name, str, OpenApiParameter.HEADER, required=required, description=said)


IDEMPOTENCY_KEY = _header(
    "Idempotency-Key", "Yours: a write sent again with it within 48 hours is carried out once."
)
IF_MATCH = _header("If-Match", "The etag of what you have looked at.", required=True)
IF_NONE_MATCH = _header("If-None-Match", "An etag: 304 where it is so still.")
_ETAG = {"ETag": {"schema": {"type": "string"}, "description": "for If-Match"}}
_RETRY_AFTER = {"Retry-After": {"schema": {"type": "integer"}, "description": "seconds"}}


class TokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """Tells drf-spectacular of tokens."""

    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:  # noqa: ARG002
        said = f"A token of the company's, which begins with {PREFIX}."
        return {"type": "http", "scheme": "bearer", "description": said}


class Generator(SchemaGenerator):
    """Describes handlers once all of them are loaded."""

    def create_view(self, *args: Any, **kwargs: Any) -> Any:
        hand_on(Description)
        return super().create_view(*args, **kwargs)  # type: ignore[no-untyped-call]


class Description(AutoSchema):
    """Adds headers, filters and problems to what drf-spectacular finds by itself."""

    def get_override_parameters(self) -> list[Any]:
        return [*super().get_override_parameters(), *self._shared_parameters()]

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        operation = super().get_operation(*args, **kwargs)
        if operation is None or not isinstance(self.view, CompanyResource):
            return operation
        responses = operation["responses"]
        if self._is_matched() or self._action() == "retrieve":
            for status in {"200", "201"} & responses.keys():
                responses[status]["headers"] = _ETAG
        if self._action() == "retrieve":
            responses["304"] = {"description": "It is so still."}
        for status in self._problem_statuses("requestBody" in operation):
            responses.setdefault(str(status), self._problem(status))
        return operation

    def get_description(self) -> str:  # type: ignore[override]
        """Return what rows they are, then what is done with them."""
        said = super().get_description()
        rows = (type(self.view).__doc__ or "").strip()
        return f"{rows} {said}" if isinstance(self.view, Rows) and said != rows else said

    def _action(self) -> str:
        return getattr(self.view, "action", "") or ""

    def _is_write(self) -> bool:
        return self.method not in SAFE_METHODS

    def _is_matched(self) -> bool:
        return self.method in getattr(self.view, "matched", ())

    def _shared_parameters(self) -> Iterator[Any]:
        if isinstance(self.view, Rows) and self._action() == "list":
            yield self.view.query
        if isinstance(self.view, Rows) and self._action() == "retrieve":
            yield IF_NONE_MATCH
        if isinstance(self.view, CompanyResource) and self._is_write():
            yield IDEMPOTENCY_KEY
            if self._is_matched():
                yield IF_MATCH

    def _problem_statuses(self, has_body: bool) -> list[int]:
        found = [*ALWAYS]
        if self._is_write():
            found += OF_WRITES
        if self.method in getattr(self.view, "conflicts", ()):
            found.append(409)
        if has_body:
            found += OF_BODIES
        if self._is_matched():
            found += OF_MATCHED
        return sorted(found)

    def _problem(self, status: int) -> dict[str, Any]:
        schema = self.resolve_serializer(ProblemSerializer, "response").ref
        said = {
            "description": BY_STATUS[status].meaning,
            "content": {PROBLEM_JSON: {"schema": schema}},
        }
        return {**said, "headers": _RETRY_AFTER} if status == 429 else said


CompanyResource.schema = Description()
