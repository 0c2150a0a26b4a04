"""Asking another server: one careful GET, its answer small, its failures said in plain words.

A GET may be repeated, so what may pass by itself (no connection, no time, a busy server) is tried
again after a pause. Redirects are not followed: the key in the address is for that server alone.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

import httpx

TIMEOUT = httpx.Timeout(10.0, connect=5.0)
WHOLE_SECONDS = 30.0
"""How long one answer may take in all, however steadily it trickles in."""
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
class Asker:
    """Asks through a client; the pause and the stopwatch may be others in tests."""

    client: httpx.Client
    pause: Callable[[float], None] = time.sleep
    stopwatch: Callable[[], float] = time.monotonic

    def get(self, url: httpx.URL, *, attempts: int = ATTEMPTS) -> Answer:
        """Return the answer to a GET; raise NoAnswer where there is none after all attempts."""
        for attempt in range(1, attempts):
            try:
                return self._once(url)
            except _MayPass:
                self.pause(PAUSE_SECONDS * 2 ** (attempt - 1))
        return self._once(url)

    def _once(self, url: httpx.URL) -> Answer:
        try:
            with self.client.stream("GET", url) as response:
                if response.status_code in BUSY:
                    raise _MayPass(f"the server answered {response.status_code}, it is busy or ill")
                if response.is_redirect:
                    raise NoAnswer(
                        f"the server answered {response.status_code} and sent us elsewhere"
                    )
                return Answer(response.status_code, self._content(response))
        except httpx.TimeoutException:
            raise _MayPass("the server did not answer in time") from None
        except httpx.TransportError as error:
            raise _MayPass(f"the server cannot be reached ({type(error).__name__})") from None
        except httpx.DecodingError:
            raise NoAnswer("the answer cannot be unpacked") from None

    def _content(self, response: httpx.Response) -> bytes:
        began, content = self.stopwatch(), bytearray()
        for chunk in response.iter_bytes():
            content += chunk
            if len(content) > MOST_BYTES:
                raise NoAnswer(f"the answer is longer than {MOST_BYTES} bytes")
            if self.stopwatch() - began > WHOLE_SECONDS:
                raise _MayPass(f"the answer was not whole after {WHOLE_SECONDS:g} seconds")
        return bytes(content)


def careful_client(transport: httpx.BaseTransport | None = None) -> httpx.Client:
    """Return a client with our limits; a transport takes the place of the network in tests."""
    return httpx.Client(timeout=TIMEOUT, follow_redirects=False, transport=transport)
