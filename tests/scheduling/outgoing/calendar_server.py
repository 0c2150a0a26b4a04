"""A real CalDAV server (radicale) on this machine, over https, for tests."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import trustme

from finishing.config.hosts import AllowedHosts
from tests.scheduling.outgoing.receiver import LOOPBACK

USER, PASSWORD = "north", "sesame opens"
LONG_ENOUGH_S = 60.0


@dataclass
class CalendarServer:
    """Where it is, where it keeps its collections, and whose word its certificate is."""

    port: int
    folder: Path
    authority: Path

    @property
    def collection(self) -> str:
        return f"https://localhost:{self.port}/{USER}/visits/"

    @property
    def allowed(self) -> AllowedHosts:
        return AllowedHosts(frozenset({("localhost", self.port)}), LOOPBACK)

    def files(self) -> dict[str, Path]:
        """Return the resources of the collection by name."""
        kept = self.folder / "collection-root" / USER / "visits"
        return {path.name: path for path in kept.glob("*.ics")}


@contextmanager
def calendar_server(folder: Path) -> Iterator[CalendarServer]:
    """Serve on a free port, with one person and one empty collection of theirs."""
    ca = trustme.CA()
    authority, key, certificate = (folder / name for name in ("ca.pem", "key.pem", "cert.pem"))
    ca.cert_pem.write_to_path(str(authority))
    issued = ca.issue_cert("localhost")
    issued.private_key_pem.write_to_path(str(key))
    issued.cert_chain_pems[0].write_to_path(str(certificate))
    people = folder / "people"
    people.write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
    server = CalendarServer(_free_port(), folder / "kept", authority)
    collection = server.folder / "collection-root" / USER / "visits"
    collection.mkdir(parents=True)
    (collection / ".Radicale.props").write_text('{"tag": "VCALENDAR"}', encoding="utf-8")
    options = {
        "server-hosts": f"127.0.0.1:{server.port}",
        "server-ssl": "True",
        "server-certificate": str(certificate),
        "server-key": str(key),
        "auth-type": "htpasswd",
        "auth-htpasswd-filename": str(people),
        "auth-htpasswd-encryption": "plain",
        "auth-delay": "0",
        "storage-filesystem-folder": str(server.folder),
        "logging-level": "warning",
    }
    with _running([f"--{name}={value}" for name, value in options.items()]):
        _wait_for(server)
        yield server


@contextmanager
def _running(arguments: Sequence[str]) -> Iterator[None]:
    environment = {**os.environ, "RADICALE_CONFIG": ""}
    process = subprocess.Popen(
        [sys.executable, "-m", "radicale", "--config", "", *arguments], env=environment
    )
    try:
        yield
    finally:
        process.terminate()
        process.wait(LONG_ENOUGH_S)


def _free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def _wait_for(server: CalendarServer) -> None:
    until = time.monotonic() + LONG_ENOUGH_S
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", server.port), 1).close()
        except OSError:
            time.sleep(0.02)  # another process says nothing when it is ready
        else:
            return
    raise TimeoutError("radicale does not begin")
