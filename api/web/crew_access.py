"""A crew's pages: the secret in their address lets one in, in the crew's language."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import render
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt

from api.access import unlogged
from api.web.known_phone import remember_page
from finishing.models import Crew
from scheduling.queries.links import page_by_secret

METHODS = ("GET", "HEAD", "POST")
MOST_BYTES = 12 * 1024 * 1024
"""No form is larger, even with a photo."""


def crew_view[**P](
    view: Callable[Concatenate[HttpRequest, Crew, P], HttpResponse],
) -> Callable[..., HttpResponse]:
    """Give a page the crew whose secret is in its address; refuse others, and what is too large.

    No cookie lets anyone in here, so there is nothing to forge; one says at visits' addresses that
    this phone knows the page.
    """

    @wraps(view)
    def opened(request: HttpRequest, secret: str, *args: P.args, **kw: P.kwargs) -> HttpResponse:
        if request.method not in METHODS:
            return unlogged(HttpResponseNotAllowed(METHODS))
        found = page_by_secret(secret)
        if found is None:
            return _refusal(
                request, _("There is no such page. Ask the office for your crew's link."), 404
            )
        crew = found.row.crew
        request.LANGUAGE_CODE = crew.language  # for failure_views.py
        with translation.override(crew.language):
            if found.has_ended:
                said = _("This page has ended. Ask the office for its new address.")
                return _refusal(request, said, 410)
            if _bytes_sent(request) > MOST_BYTES:
                return _refusal(request, _("This is too large. Send a smaller photo."), 413)
            response = _kept_private(view(request, crew, *args, **kw))
            if request.method == "GET":
                remember_page(request, response, found.row)
            return response

    return csrf_exempt(opened)


def _bytes_sent(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0


def _refusal(request: HttpRequest, text: str, status: int) -> HttpResponse:
    return _kept_private(render(request, "web/crew_refused.html", {"text": text}, status=status))


def _kept_private(response: HttpResponse) -> HttpResponse:
    """Keep the address out of logs and of what other pages are told, the page out of caches: a
    form that is gone back to is made anew, with an id of its own."""
    response.headers["Cache-Control"] = "no-store"
    response.headers["Referrer-Policy"] = "no-referrer"
    return unlogged(response)
