"""Errors as problem documents (RFC 9457), with all faults of what was sent."""

from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied as NotPermitted
from django.core.exceptions import RequestDataTooBig
from django.http import Http404
from rest_framework.exceptions import APIException, NotFound, PermissionDenied
from rest_framework.permissions import SAFE_METHODS
from rest_framework.response import Response

from finishing.services.errors import Fault, InputFaults

PROBLEM_JSON = "application/problem+json"


class TooLarge(APIException):
    status_code = 413
    default_detail = "What was sent is too large: send it in several requests."


class Conflict(APIException):
    """The request is in order, and things do not stand so that it can be answered."""

    status_code = 409


def problem_response(error: Exception, context: dict[str, Any]) -> Response | None:
    """Return an error as a problem document; None for one that nobody foresaw."""
    if isinstance(error, InputFaults):
        detail = _what_came_of(error, context["request"].method)
        return _response(422, detail, errors=[_error(fault) for fault in error.faults])
    if isinstance(error, Http404):
        error = NotFound(str(error) or None)
    elif isinstance(error, NotPermitted):
        error = PermissionDenied()
    elif isinstance(error, RequestDataTooBig):  # Django's own limit, where it reads the body first
        error = TooLarge()
    if not isinstance(error, APIException):
        return None
    response = _response(error.status_code, str(error.detail))
    for header in ("auth_header", "wait"):
        if value := getattr(error, header, None):
            response[{"auth_header": "WWW-Authenticate", "wait": "Retry-After"}[header]] = value
    return response


def _response(status: int, detail: str, **more: Any) -> Response:
    title = HTTPStatus(status).phrase
    body = {"type": "about:blank", "title": title, "status": int(status), "detail": detail, **more}
    return Response(body, status=int(status), content_type=PROBLEM_JSON)


def _what_came_of(error: InputFaults, method: str) -> str:
    if method in SAFE_METHODS:
        return "What was asked for cannot be read."
    return "Nothing was stored." if len(error.faults) == 1 else "Nothing of it was stored."


def _error(fault: Fault) -> dict[str, str]:
    """Return a fault with its place: a JSON pointer into the body, or a name of the query."""
    where = "pointer" if fault.place.startswith("#") else "parameter"
    return {where: fault.place, "detail": fault.text}
