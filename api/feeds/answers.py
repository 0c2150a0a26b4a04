"""The answers of a calendar's address: whole, unchanged, or none at all."""

import errno
import gzip
import hashlib
from collections.abc import Callable, Iterator
from datetime import datetime

from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils.cache import get_conditional_response
from django.utils.http import http_date

from scheduling.models import FeedLink
from scheduling.services.feed_files import KeptFeed


def calendar_answer(request: HttpRequest, link: FeedLink) -> HttpResponseBase:
    """Return the stored bytes of a feed, or that the client has them."""
    assert link.modified_at
    return _calendar(
        request,
        link.etag,
        link.modified_at,
        plain=lambda: bytes(link.body),
        packed=lambda: bytes(link.body_gzip),
    )


def calendar_from_file(request: HttpRequest, kept: KeptFeed) -> HttpResponseBase:
    """Return what is kept of a feed in a file, with the same headers as from its row."""
    etag = f'"{hashlib.sha256(kept.body).hexdigest()}"'
    return _calendar(
        request,
        etag,
        kept.modified_at,
        plain=lambda: kept.body,
        packed=lambda: gzip.compress(kept.body, mtime=0),
    )


def hung_up() -> HttpResponseBase:
    """Return what ends the connection without an answer.

    WSGI has no word for that. Servers take this error, raised before the first byte, for a client
    that is gone, and close the socket: so do gunicorn and Python's own wsgiref.
    """

    def nothing() -> Iterator[bytes]:
        raise ConnectionResetError(errno.ECONNRESET, "no calendar to answer with")
        yield b""

    return StreamingHttpResponse(nothing())


def accepts_gzip(header: str) -> bool:
    """Return whether an Accept-Encoding takes gzip (RFC 9110, 12.5.3); it has to be named."""
    for part in header.lower().split(","):
        name, _, parameters = part.partition(";")
        if name.strip() in {"gzip", "x-gzip"}:
            return parameters.replace(" ", "") not in {"q=0", "q=0.", "q=0.0", "q=0.00", "q=0.000"}
    return False


def _calendar(
    request: HttpRequest,
    etag: str,
    modified_at: datetime,
    *,
    plain: Callable[[], bytes],
    packed: Callable[[], bytes],
) -> HttpResponseBase:
    """Return a calendar. Its packed form is another representation, with an ETag of its own
    (RFC 9110, 8.8.3.3); Cache-Control stands on a 304 as well, where Django would leave it out."""
    is_packed = accepts_gzip(request.headers.get("Accept-Encoding", ""))
    tag = f'{etag[:-1]}-gzip"' if is_packed else etag
    modified = int(modified_at.timestamp())
    answer = get_conditional_response(request, tag, modified)
    if answer is None:
        answer = HttpResponse(
            packed() if is_packed else plain(),
            content_type="text/calendar; charset=utf-8",
            headers={"Content-Disposition": "inline"},
        )
        if is_packed:
            answer.headers["Content-Encoding"] = "gzip"
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["ETag"] = tag
    answer.headers["Last-Modified"] = http_date(modified)
    answer.headers["Vary"] = "Accept-Encoding"
    return answer
