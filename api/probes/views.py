"""Answers to whoever runs the server, not to its users: is it alive, is it ready, how is it doing.

None of them says whose rows there are, nor why something is not there: that is in the log.
"""

import os

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils.crypto import constant_time_compare
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST, REGISTRY, CollectorRegistry, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

from api.probes.measured import Planning
from scheduling.services.ready import what_is_ready


@require_safe
@never_cache
def alive(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """Answer: whoever gets nothing here is to start the process again."""
    return HttpResponse("ok\n", content_type="text/plain")


@require_safe
@never_cache
def ready(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """Say whether requests are to be sent here: 503 while something that is needed is away."""
    found = what_is_ready()
    return JsonResponse(found, status=200 if all(found.values()) else 503)


@require_safe
@never_cache
def metrics(request: HttpRequest) -> HttpResponse:
    """Answer with figures to whoever has the token; there is no such page while none is set."""
    if not settings.METRICS_TOKEN:
        raise Http404("No token is set.")
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    if scheme != "Bearer" or not constant_time_compare(token, settings.METRICS_TOKEN):
        return HttpResponse(status=401, headers={"WWW-Authenticate": "Bearer"})
    figures = b"".join(generate_latest(registry) for registry in (_counted(), _stored()))
    return HttpResponse(figures, content_type=CONTENT_TYPE_LATEST)


def _stored() -> CollectorRegistry:
    registry = CollectorRegistry()
    registry.register(Planning())
    return registry


def _counted() -> CollectorRegistry:
    """Return what processes count themselves: all of them together where they share a folder."""
    if "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
        return REGISTRY
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    return registry
