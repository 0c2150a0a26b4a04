"""A write is carried out whole or not at all, and once for each Idempotency-Key."""

import json
import re
from collections.abc import Callable, Collection, Mapping
from hashlib import sha256
from typing import Any

from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.access import company_of, token_of, who_asks
from api.rest.errors import BadHeader
from finishing.models import SentRequest
from finishing.services.acting import acting
from finishing.services.sent_requests import claim_request, finish_request, give_up_request

HEADER = "Idempotency-Key"
KEPT_HEADERS = ("ETag", "Location")
_KEY = re.compile(r'"?([!#-~]{1,255})"?')

type Handler = Callable[..., Response]


def carry_out(
    request: Request,
    *,
    handler: Handler,
    before: Callable[..., None],
    secrets: Collection[str] = (),
    **address: Any,
) -> HttpResponseBase:
    """Call a handler in one transaction, and before that what needs none; where the request has a
    key that was used, give the answer that was given then.

    secrets: fields of it that are not kept: they are blank where it is given again.
    """
    token = token_of(request)
    with acting(token.name if token else ""):
        return _once(request, handler, before, secrets, address)


def _once(
    request: Request,
    handler: Handler,
    before: Callable[..., None],
    secrets: Collection[str],
    address: Mapping[str, Any],
) -> HttpResponseBase:
    key = _key_of(request)
    if not key:
        before(request, **address)
        with transaction.atomic():
            return handler(request, **address)
    claim = claim_request(
        company=company_of(request),
        sender=_sender(request),
        key=key,
        request_sha256=_digest(request),
        now=timezone.now(),
    )
    if claim.status:
        return _answer_of(claim)
    try:
        before(request, **address)
        with transaction.atomic():
            response = handler(request, **address)
            _keep(claim, response, secrets)
    except BaseException:
        give_up_request(request=claim)
        raise
    return response


def _key_of(request: Request) -> str:
    """Return the key without quotes; "" where there is none."""
    said = request.headers.get(HEADER)
    if said is None:
        return ""
    match = _KEY.fullmatch(said.strip())
    if match is None:
        raise BadHeader(f"{HEADER}: 1 to 255 characters of ASCII, no blank or quote among them.")
    return match[1]


def _sender(request: Request) -> str:
    token, person = token_of(request), who_asks(request)
    if token is not None:
        return f"token {token.public_id}"
    assert person is not None  # permissions have looked
    return f"person {person.public_id}"


def _digest(request: Request) -> str:
    """Return the hash of all that a request asks for."""
    head = [request.method, request.get_full_path(), request.headers.get("If-Match", "")]
    return sha256(json.dumps([*head, request.data], sort_keys=True).encode()).hexdigest()


def _keep(claim: SentRequest, response: Response, secrets: Collection[str]) -> None:
    said = response.data
    if secrets and said:
        said = {**said, **dict.fromkeys(secrets, "")}
    body = "" if said is None else JSONRenderer().render(said).decode()
    headers = {name: response[name] for name in KEPT_HEADERS if name in response}
    finish_request(request=claim, status=response.status_code, headers=headers, body=body)


def _answer_of(done: SentRequest) -> HttpResponse:
    content_type = JSONRenderer.media_type if done.body else None
    response = HttpResponse(done.body, status=done.status, content_type=content_type)
    for name, value in done.headers.items():
        response[name] = value
    return response
