"""Answers calendar programs: stored bytes, ETags, nothing else.

They take any 200 for a whole calendar, drop their entries on what is none, and give up on a feed
after an error of permission or of the server. So an answer is the calendar, 304, 404, 405 or 410;
while the database fails it is the calendar as it was last, from a file, and where there is none
the connection ends without an answer, which programs take for lack of signal.
"""

import logging
from functools import partial

from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseNotAllowed
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from api.access import unlogged
from api.feeds.answers import (
    calendar_answer,
    calendar_from_file,
    hung_up,
    is_conditional,
    takes_gzip,
)
from api.feeds.counted import counted
from scheduling.queries.links import link_by_secret, secret_digest
from scheduling.queries.stored_feeds import stored_by_secret, stored_of
from scheduling.services.feed_files import kept_file
from scheduling.services.feeds import refresh_feed
from scheduling.services.fetches import FETCHES, Fetch

METHODS = ("GET", "HEAD")
log = logging.getLogger("scheduling.feeds")


@csrf_exempt  # clients try to PUT: that is 405 (read-only) to them, and 403 a broken calendar
def feed(request: HttpRequest, secret: str, _slug: str) -> HttpResponseBase:
    """Answer with a calendar. Any slug will do, so that renaming keeps the address."""
    if request.method not in METHODS:
        return unlogged(HttpResponseNotAllowed(METHODS))
    try:
        return counted(_answered(request, secret))
    except Exception:  # whatever it is: no calendar program may be told of an error
        log.exception("a feed is answered with what is kept of it")
    kept = kept_file(secret_digest(secret))
    return counted(unlogged(calendar_from_file(request, kept) if kept else hung_up()))


def _answered(request: HttpRequest, secret: str) -> HttpResponseBase:
    """Answer from the feed's row: one query, where the client has the newest or asks for all."""
    now, packed = timezone.now(), takes_gzip(request)
    stored = stored_by_secret(secret, packed=None if is_conditional(request) else packed)
    if stored is None or not stored.is_good(now):
        found = link_by_secret(secret)
        if found is None:
            return _refusal("There is no such calendar.", 404)
        if found.has_ended:
            return _refusal("This calendar has ended. Ask the office for its new address.", 410)
        stored = stored_of(refresh_feed(link=found.row, now=now).pk, packed=packed)
    fetch = Fetch(now, request.META.get("HTTP_USER_AGENT", ""), stored.revision)
    FETCHES.note(stored.pk, fetch)
    return calendar_answer(request, stored, partial(stored_of, stored.pk, packed=packed))


def _refusal(text: str, status: int) -> HttpResponse:
    response = HttpResponse(text, status=status, content_type="text/plain; charset=utf-8")
    response.headers["Cache-Control"] = "no-store"
    return unlogged(response)
