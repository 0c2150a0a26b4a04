"""A real https server on this machine that notes what it is sent, for tests."""

import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from ipaddress import ip_network

import trustme

from finishing.config.hosts import AllowedHosts

LOOPBACK = (ip_network("127.0.0.0/8"), ip_network("::1/128"))


@dataclass
class Receiver:
    """What came: headers and body of each request. answers: what is said next, then 204."""

    port: int
    ca: trustme.CA
    requests: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    answers: list[tuple[int, dict[str, str]]] = field(default_factory=list)

    @property
    def address(self) -> str:
        return f"https://localhost:{self.port}/hooks?of=us"

    @property
    def allowed(self) -> AllowedHosts:
        return AllowedHosts(frozenset({("localhost", self.port)}), LOOPBACK)


@contextmanager
def receiver() -> Iterator[Receiver]:
    """Serve on a free port, with a certificate of an authority of its own."""
    ca = trustme.CA()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    ca.issue_cert("localhost").configure_cert(context)

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
            received.requests.append((dict(self.headers), body))
            status, headers = received.answers.pop(0) if received.answers else (204, {})
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            self.end_headers()

        do_PUT = do_DELETE = do_POST  # noqa: N815 - as the base class names what it calls

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    received = Receiver(server.server_port, ca)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield received
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
