"""Errors as problem documents (RFC 9457), with all faults of what was sent."""

import logging
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, ClassVar

from django.core.exceptions import PermissionDenied as NotPermitted
from django.core.exceptions import RequestDataTooBig
from django.core.exceptions import ValidationError as RowFaults
from django.db import IntegrityError
from django.http import Http404
from django.urls import reverse
from rest_framework.exceptions import APIException, NotFound, PermissionDenied, ValidationError
from rest_framework.permissions import SAFE_METHODS
from rest_framework.response import Response
from rest_framework.settings import api_settings

from api.rest import problems
from finishing.services.compounds import InUseError
from finishing.services.errors import Fault, InputFaults, faults_of_row
from finishing.services.no_room import has_no_room
from finishing.services.people import LastOwnerError
from finishing.services.rows import StaleRowsError
from finishing.services.sent_requests import InProgressError, KeyReusedError

log = logging.getLogger("finishing.api")
PROBLEM_JSON = "application/problem+json"


class TooLarge(APIException):
    status_code = 413
    default_detail = "What was sent is too large: send it in several requests."


class Conflict(APIException):
    """The request is in order, and things do not stand so that it can be answered."""

    status_code = 409


class Refused(Conflict):
    """A conflict of a kind of its own. reason: a code, stable."""

    kind: ClassVar[problems.Kind]

    def __init__(self, reason: str, detail: str) -> None:
        super().__init__(detail)
        self.members = {"reason": reason}


class Overtaken(Refused):
    """What was looked at is not what it is by now."""

    kind = problems.OVERTAKEN


class BreaksRule(Refused):
    """Work does not hold where it is wanted. reason: the rule (``solver/verify.py``)."""

    kind = problems.BREAKS_RULE


class Stale(APIException):
    """The row is not as the client has seen it. changes: see ``versions.changes``."""

    status_code = 412
    default_detail = problems.STALE.meaning

    def __init__(self, changes: Sequence[Mapping[str, Any]], etag: str) -> None:
        super().__init__()
        self.members = {"changes": changes, "etag": etag}


class NoIfMatch(APIException):
    status_code = 428
    default_detail = problems.NO_IF_MATCH.meaning


class BadHeader(APIException):
    """A header that cannot be read."""

    status_code = 400


class QueryFaults(InputFaults):
    """All that is wrong with a query; places are names of its parameters."""


def problem_response(error: Exception, context: dict[str, Any]) -> Response | None:
    """Return an error as a problem document; None for one that nobody foresaw."""
    if isinstance(error, InputFaults | ValidationError | RowFaults):
        errors = list(_errors(error))
        detail = _what_came_of(len(errors), context["request"].method)
        return _response(problems.INVALID, detail, errors=errors)
    if said := _said_of(error):
        return _response(*said)
    if has_no_room(error):
        log.error("nothing was stored: no room", exc_info=error)
        return _response(problems.NO_ROOM, problems.NO_ROOM.meaning)
    known = _as_api_exception(error)
    if known is None:
        return None
    kind = getattr(known, "kind", None) or problems.BY_STATUS[known.status_code]
    response = _response(kind, str(known.detail), **getattr(known, "members", {}))
    for attribute, header in (("auth_header", "WWW-Authenticate"), ("wait", "Retry-After")):
        if value := getattr(known, attribute, None):
            response[header] = str(value)
    return response


def _said_of(error: Exception) -> tuple[problems.Kind, str] | None:
    """Return of what kind a refusal by a service is, with what it says; None for any other."""
    match error:
        case KeyReusedError():
            return problems.KEY_REUSED, problems.KEY_REUSED.meaning
        case InProgressError():
            return problems.IN_PROGRESS, problems.IN_PROGRESS.meaning
        case IntegrityError():
            said = "Somebody stored the same at this moment: ask again."
        case StaleRowsError():
            said = "Somebody changed it at this moment: ask again."
        case LastOwnerError():
            said = "This is the only owner: make somebody else an owner first."
        case InUseError():
            said = f"It is used by {', '.join(error.where)}."
        case _:
            return None
    return problems.CONFLICT, said


def _as_api_exception(error: Exception) -> APIException | None:
    if isinstance(error, Http404):
        return NotFound(str(error) or None)
    if isinstance(error, NotPermitted):
        return PermissionDenied()
    if isinstance(error, RequestDataTooBig):  # Django's own limit, where it reads the body first
        return TooLarge()
    return error if isinstance(error, APIException) else None


def _response(kind: problems.Kind, detail: str, **more: Any) -> Response:
    address = reverse("rest:problem", args=[kind.code])
    said = {"type": address, "title": kind.title, "status": kind.status, "detail": detail}
    return Response({**said, **more}, status=kind.status, content_type=PROBLEM_JSON)


def _what_came_of(count: int, method: str) -> str:
    if method in SAFE_METHODS:
        return "What was asked for cannot be read."
    return "Nothing was stored." if count == 1 else "Nothing of it was stored."


def _errors(error: InputFaults | ValidationError | RowFaults) -> Iterator[dict[str, Any]]:
    """Yield each fault with its place: a JSON pointer into the body, a line and a column of a
    file, or a name of the query."""
    if isinstance(error, ValidationError):
        for place, text in faults_in(error.detail):
            yield {"pointer": f"#{place}", "detail": text}
        return
    where = "parameter" if isinstance(error, QueryFaults) else "pointer"
    faults = error.faults if isinstance(error, InputFaults) else _faults_of(error)
    for fault in faults:
        if fault.line:
            column = {"column": fault.column} if fault.column else {}
            yield {"line": fault.line, **column, "detail": fault.text}
            continue
        place = fault.place if where == "parameter" else pointer(fault.place)
        yield {where: place, "detail": fault.text}


def pointer(place: str) -> str:
    """Return the JSON pointer (RFC 6901, as a URI fragment) of a field, or one as it is."""
    if place.startswith("#"):
        return place
    return f"#/{place}" if place else "#"


def _faults_of(error: RowFaults) -> Sequence[Fault]:
    if hasattr(error, "error_dict"):
        return faults_of_row(error)
    return [Fault("", text) for text in error.messages]


def faults_in(detail: Any, place: str = "") -> Iterator[tuple[str, str]]:
    """Yield what DRF's nested faults say, each with the rest of its JSON pointer."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            is_whole = name == api_settings.NON_FIELD_ERRORS_KEY
            yield from faults_in(inner, place if is_whole else f"{place}/{_escaped(str(name))}")
    elif isinstance(detail, list):
        for number, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list)
            yield from faults_in(inner, f"{place}/{number}" if nested else place)
    else:
        yield place, str(detail)


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")
