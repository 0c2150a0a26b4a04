"""Asking another server: one careful GET, or a POST, its answer small, its failures said in plain
words.

A GET may be repeated, so what may pass by itself (no connection, no time, a busy server) is tried
again after a pause. Redirects are not followed: the key in the address is for that server alone.
"""

import socket
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from threading import Timer
from typing import Any

import httpx

TIMEOUT = httpx.Timeout(10.0, connect=5.0)
WHOLE_SECONDS = 30.0
"""How long one answer may take in all, headers included, however steadily it trickles in."""
MOST_BYTES = 1_000_000
ATTEMPTS = 3
PAUSE_SECONDS = 1.0
"""Before the second attempt; twice as long before each one after it."""
BUSY = frozenset({408, 429, 500, 502, 503, 504})


class NoAnswer(Exception):  # noqa: N818 - it may well be the other server's fault
    """There is no answer that could be read; the message says why, and never names the address."""


class _MayPass(NoAnswer):
    """Trouble that another attempt may not meet."""


@dataclass(frozen=True)
class Answer:
    """What came back: 200 with its content, or another status with what it says."""

    status: int
    content: bytes


@dataclass(frozen=True)
class Taken:
    """How something that was sent was taken. retry_after: as the server wrote it, if it did."""

    status: int
    retry_after: str


@dataclass
class _Line:
    """The connection of one request, which is cut when it takes too long in all: the client's own
    timeouts begin again with every byte."""

    cut: bool = False
    socket: Any = None

    def trace(self, event: str, info: dict[str, Any]) -> None:
        """Learn of the socket from the client, as its ``trace`` extension tells."""
        if event in {"connection.connect_tcp.complete", "connection.start_tls.complete"}:
            self.socket = info["return_value"].get_extra_info("socket")

    @contextmanager
    def at_most(self, seconds: float) -> Iterator[None]:
        timer = Timer(seconds, self._hang_up)
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()

    def _hang_up(self) -> None:
        self.cut = True
        if self.socket is not None:
            with suppress(OSError):
                self.socket.shutdown(socket.SHUT_RDWR)


@dataclass(frozen=True)
class Asker:
    """Asks through a client; the pause may be another in tests."""

    client: httpx.Client
    pause: Callable[[float], None] = time.sleep
    whole_seconds: float = WHOLE_SECONDS

    def get(self, url: httpx.URL, *, attempts: int = ATTEMPTS) -> Answer:
        """Return the answer to a GET; raise NoAnswer where there is none after all attempts."""
        for attempt in range(1, attempts):
            try:
                return self._once(url)
            except _MayPass:
                self.pause(PAUSE_SECONDS * 2 ** (attempt - 1))
        return self._once(url)

    def post(
        self,
        url: httpx.URL,
        *,
        content: bytes,
        headers: Mapping[str, str],
        tls_name: str,
    ) -> Taken:
        """Return how one POST was taken, and read nothing else of the answer; raise NoAnswer where
        there is none. tls_name: whom the server's certificate has to name."""
        request = self.client.build_request(
            "POST", url, content=content, headers=headers, extensions={"sni_hostname": tls_name}
        )
        return self._ask(request, _taken)

    def _once(self, url: httpx.URL) -> Answer:
        return self._ask(self.client.build_request("GET", url), _answer)

    def _ask[T](self, request: httpx.Request, read: Callable[[httpx.Response], T]) -> T:
        line = _Line()
        request.extensions = {**request.extensions, "trace": line.trace}
        try:
            with line.at_most(self.whole_seconds), self._streamed(request) as response:
                answer = read(response)
        except httpx.TimeoutException:
            raise _MayPass("the server did not answer in time") from None
        except httpx.TransportError as error:
            if not line.cut:
                raise _MayPass(f"the server cannot be reached ({type(error).__name__})") from None
        except httpx.DecodingError:
            raise NoAnswer("the answer cannot be unpacked") from None
        else:
            if not line.cut:  # an answer of no stated length ends where the line does
                return answer
        raise _MayPass(f"the answer was not whole after {self.whole_seconds:g} seconds")

    @contextmanager
    def _streamed(self, request: httpx.Request) -> Iterator[httpx.Response]:
        response = self.client.send(request, stream=True)
        try:
            yield response
        finally:
            response.close()


def _taken(response: httpx.Response) -> Taken:
    return Taken(response.status_code, response.headers.get("retry-after", ""))


def _answer(response: httpx.Response) -> Answer:
    status = response.status_code
    if status in BUSY:
        raise _MayPass(f"the server answered {status}, it is busy or ill")
    if response.is_redirect:
        raise NoAnswer(f"the server answered {status} and sent us elsewhere")
    if "," in response.headers.get("content-encoding", ""):
        raise NoAnswer("the answer is packed more than once")  # a little may unpack to gigabytes
    content = bytearray()
    for chunk in response.iter_bytes():
        content += chunk
        if len(content) > MOST_BYTES:
            raise NoAnswer(f"the answer is longer than {MOST_BYTES} bytes")
    return Answer(status, bytes(content))


def careful_client(transport: httpx.BaseTransport | None = None) -> httpx.Client:
    """Return a client with our limits; a transport takes the place of the network in tests.

    Every request has a connection of its own, so that its trace tells of the socket.
    """
    limits = httpx.Limits(max_keepalive_connections=0)
    return httpx.Client(timeout=TIMEOUT, limits=limits, follow_redirects=False, transport=transport)
