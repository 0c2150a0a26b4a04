"""The answers of a calendar's address: whole, unchanged, or none at all."""

import errno
import gzip
import hashlib
from collections.abc import Callable, Iterator
from datetime import datetime
from typing import NamedTuple, Protocol

from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils.cache import get_conditional_response
from django.utils.http import http_date

from scheduling.services.feed_files import KeptFeed


class Calendar(Protocol):
    """A calendar to answer with. body: in the form that is asked for; None where it is not read."""

    @property
    def etag(self) -> str: ...
    @property
    def modified_at(self) -> datetime: ...
    @property
    def body(self) -> bytes | None: ...


class _FromFile(NamedTuple):
    etag: str
    modified_at: datetime
    body: bytes


def calendar_answer(
    request: HttpRequest, stored: Calendar, whole: Callable[[], Calendar]
) -> HttpResponseBase:
    """Return the stored bytes of a feed, or that the client has them. whole: reads the row with
    its bytes, where they were not.

    The packed form is another representation, with an ETag of its own (RFC 9110, 8.8.3.3);
    Cache-Control stands on a 304 as well, where Django would leave it out.
    """
    packed = takes_gzip(request)
    answer = get_conditional_response(request, _tag(stored, packed), _stamp(stored))
    if answer is None:
        stored = stored if stored.body is not None else whole()
        answer = HttpResponse(
            bytes(stored.body or b""),
            content_type="text/calendar; charset=utf-8",
            headers={"Content-Disposition": "inline"},
        )
        if packed:
            answer.headers["Content-Encoding"] = "gzip"
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["ETag"] = _tag(stored, packed)
    answer.headers["Last-Modified"] = http_date(_stamp(stored))
    answer.headers["Vary"] = "Accept-Encoding"
    return answer


def calendar_from_file(request: HttpRequest, kept: KeptFeed) -> HttpResponseBase:
    """Return what is kept of a feed in a file, with the same headers as from its row."""
    etag = f'"{hashlib.sha256(kept.body).hexdigest()}"'
    body = gzip.compress(kept.body, mtime=0) if takes_gzip(request) else kept.body
    found = _FromFile(etag, kept.modified_at, body)
    return calendar_answer(request, found, lambda: found)


def takes_gzip(request: HttpRequest) -> bool:
    """Return whether a request is answered with the packed form."""
    return accepts_gzip(request.META.get("HTTP_ACCEPT_ENCODING", ""))


def is_conditional(request: HttpRequest) -> bool:
    """Return whether a client asks only for what is newer than it has (RFC 9110, 13.1)."""
    return "HTTP_IF_NONE_MATCH" in request.META or "HTTP_IF_MODIFIED_SINCE" in request.META


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


def _tag(stored: Calendar, packed: bool) -> str:
    return f'{stored.etag[:-1]}-gzip"' if packed else stored.etag


def _stamp(stored: Calendar) -> int:
    return int(stored.modified_at.timestamp())
