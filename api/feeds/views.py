"""Answers calendar programs: stored bytes, ETags, nothing else.

They take any 200 for a whole calendar, drop their entries on what is none, and give up on a feed
after an error of permission or of the server. So an answer is the calendar, 304, 404, 405 or 410.
Not met yet: while the database itself fails, the answer is still Django's 500.
"""

from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseNotAllowed
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import http_date
from django.views.decorators.csrf import csrf_exempt

from api.access import unlogged
from scheduling.models import FeedLink
from scheduling.queries.links import is_former_secret, link_by_secret
from scheduling.services.feeds import note_fetch, refresh_feed

METHODS = ("GET", "HEAD")


@csrf_exempt  # clients try to PUT: that is 405 (read-only) to them, and 403 a broken calendar
def crew_feed(request: HttpRequest, secret: str, _slug: str) -> HttpResponseBase:
    """Answer with the crew's calendar. Any slug will do, so that renaming keeps the address."""
    if request.method not in METHODS:
        return unlogged(HttpResponseNotAllowed(METHODS))
    link = link_by_secret(secret)
    if link is None and not is_former_secret(secret):
        return _refusal("There is no such calendar.", 404)
    if link is None or link.revoked_at:
        return _refusal("This calendar has ended. Ask the office for its new address.", 410)
    now = timezone.now()
    link = refresh_feed(link=link, now=now)
    note_fetch(link=link, now=now, client=request.headers.get("User-Agent", ""))
    return _answer(request, link)


def _answer(request: HttpRequest, link: FeedLink) -> HttpResponseBase:
    assert link.modified_at
    modified = int(link.modified_at.timestamp())
    unchanged = get_conditional_response(request, link.etag, modified)
    answer = unchanged or HttpResponse(
        bytes(link.body),
        content_type="text/calendar; charset=utf-8",
        headers={"Content-Disposition": "inline"},
    )
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["ETag"] = link.etag
    answer.headers["Last-Modified"] = http_date(modified)
    return answer


def _refusal(text: str, status: int) -> HttpResponse:
    response = HttpResponse(text, status=status, content_type="text/plain; charset=utf-8")
    response.headers["Cache-Control"] = "no-store"
    return unlogged(response)
