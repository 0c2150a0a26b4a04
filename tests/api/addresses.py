"""All addresses of the project, read from its own list of them: one that is new is among them."""

import re
from collections.abc import Iterator, Mapping

from django.urls import URLPattern, URLResolver, get_resolver

from api.row_ids import KINDS_OF_ID

PLACE = re.compile(r"<(?:(?P<kind>\w+):)?(?P<name>\w+)>")
"""Where something is filled in: ``<house:public_id>``."""


def all_routes() -> list[str]:
    """Return every address as it is written in the lists, but those of the admin."""
    return [route for route in _routes(get_resolver()) if not route.startswith("admin/")]


def admin_routes() -> list[str]:
    return [route for route in _routes(get_resolver()) if route.startswith("admin/")]


def _routes(resolver: URLResolver, before: str = "") -> Iterator[str]:
    for entry in resolver.url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield route
        else:
            yield from _routes(entry, route)


def filled(route: str, values: Mapping[str, object]) -> str:
    """Return an address with values in it: by name of the place, else by kind of what stands
    there. KeyError for a place that nothing is known for."""

    def value(place: re.Match[str]) -> str:
        kind, name = place["kind"], place["name"]
        return str(values[name] if name in values else values[kind])

    return "/" + PLACE.sub(value, route)


def row_ids_in(route: str) -> list[str]:
    """Return the kinds of rows whose ids are in an address."""
    return [place["kind"] for place in PLACE.finditer(route) if place["kind"] in KINDS_OF_ID]
