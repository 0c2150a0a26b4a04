"""The description of the API: as OpenAPI, as a page, and of each kind of problem."""

from typing import Any

from django.conf import settings as site
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.csp import csp_override
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_safe
from rest_framework.exceptions import NotFound
from rest_framework.response import Response

from api.access import company_view
from api.rest.problems import BY_CODE
from api.rest.resource import CompanyResource
from finishing.models import Company
from finishing.queries.rights import Right


@csrf_exempt
def schema(request: HttpRequest) -> HttpResponse:
    """Answer with OpenAPI 3, as JSON."""
    # Loads what no other request needs.
    from drf_spectacular.views import SpectacularJSONAPIView  # noqa: PLC0415

    return SpectacularJSONAPIView.as_view()(request)


class Nothing(CompanyResource):
    """Every address that there is not: a problem document, as everywhere else."""

    schema = None

    def http_method_not_allowed(self, *_request: Any, **_named: Any) -> Response:
        raise NotFound("There is nothing at this address; addresses end with a slash.")


PICTURES = {**site.SECURE_CSP, "img-src": ["'self'", "data:"]}
"""The viewer's own icons are data: addresses in its style sheet; all else is as strict as ever."""


@csp_override(PICTURES)
@require_safe
@company_view(needs=Right.READ)
def docs(request: HttpRequest, company: Company) -> HttpResponse:  # noqa: ARG001
    """Show the description as a page, from files of this project's own."""
    return render(request, "rest/docs.html")


@require_safe
def problem(request: HttpRequest, code: str) -> HttpResponse:  # noqa: ARG001
    """Say what a kind of problem is: its ``type`` leads here."""
    kind = BY_CODE.get(code)
    if kind is None:
        raise Http404("There is no such kind of problem.")
    said = {"title": kind.title, "status": kind.status, "detail": kind.meaning}
    return JsonResponse({"code": kind.code, **said})
