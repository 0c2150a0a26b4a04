"""What a page says that failed of a fault that nobody foresaw, or because the disk is full."""

import sys

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.translation import get_language, override

from finishing.services.no_room import has_no_room

INSUFFICIENT_STORAGE = 507  # RFC 4918, 11.5


def failed(request: HttpRequest) -> HttpResponse:
    """Say what became of what was sent, in the language of whoever the page was for; asks no
    database, which may be what failed."""
    status = INSUFFICIENT_STORAGE if has_no_room(sys.exception()) else 500
    with override(getattr(request, "LANGUAGE_CODE", get_language())):
        return HttpResponse(render_to_string(f"{status}.html"), status=status)
