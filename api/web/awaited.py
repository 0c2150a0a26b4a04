"""Parts of pages that somebody has yet to work out: whoever asks comes again for them."""

from collections.abc import Callable
from functools import wraps

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.functional import Promise

from api.access import CompanyView
from finishing.models import Company
from scheduling.services.kept_answers import NotYetError

PENDING = 204
"""Leaves what stands in the part's place as it is (RFC 9110, 15.3.5)."""
AGAIN_AFTER_S = 1


def awaited[**P](title: Promise) -> Callable[[CompanyView[P]], CompanyView[P]]:
    """Answer, while a part is being worked out, a script that it is to come again, and anybody else
    a page under the part's title that does so by itself."""

    def decorate(part: CompanyView[P]) -> CompanyView[P]:
        @wraps(part)
        def shown(
            request: HttpRequest, company: Company, /, *args: P.args, **kwargs: P.kwargs
        ) -> HttpResponse:
            try:
                return part(request, company, *args, **kwargs)
            except NotYetError:
                return _later(request, company, title)

        return shown

    return decorate


def _later(request: HttpRequest, company: Company, title: Promise) -> HttpResponse:
    if request.headers.get("HX-Request") == "true":
        return HttpResponse(status=PENDING)
    waiting = render(request, "web/awaited.html", {"company": company, "title": title})
    waiting["Refresh"] = str(AGAIN_AFTER_S)
    waiting["Cache-Control"] = "no-store"
    return waiting
