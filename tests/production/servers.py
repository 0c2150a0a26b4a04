"""A PostgreSQL and a Redis of a test's own: in a folder that goes, on ports that nobody has."""

import os
import shutil
import signal
import socket
import subprocess
from collections.abc import Callable
from pathlib import Path
from time import monotonic, sleep

from psycopg import OperationalError, connect

WITHIN_S = 60.0
"""How long a server may take to answer on a slow and busy machine."""


def await_that(holds: Callable[[], bool], what: str, within_s: float = WITHIN_S) -> None:
    """Return as soon as something in another process holds; fail the test where it never does."""
    latest = monotonic() + within_s
    while not holds():
        assert monotonic() < latest, f"not within {within_s:.0f} s: {what}"
        sleep(0.02)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


USER, GROUP = ("nobody", "nogroup") if os.geteuid() == 0 else (None, None)
"""PostgreSQL does not run as root, which a container's only user often is."""


class Server:
    """A process that is started, killed, and started again on the same port."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = free_port()
        folder.mkdir()
        if USER and GROUP:
            shutil.chown(folder, USER, GROUP)
        self._process: subprocess.Popen[bytes] | None = None

    def command(self) -> list[str]:
        raise NotImplementedError

    def answers(self) -> bool:
        raise NotImplementedError

    def start(self) -> None:
        with (self.folder.parent / f"{self.folder.name}.log").open("ab") as log:
            self._process = subprocess.Popen(
                self.command(), cwd=self.folder, stdout=log, stderr=log, user=USER, group=GROUP
            )
        await_that(self.answers, f"{self.command()[0]} answers")

    def kill(self, how: signal.Signals) -> None:
        assert self._process
        self._process.send_signal(how)
        self._process.wait(WITHIN_S)


class PostgreSQL(Server):
    """durable: whether it waits for the disk, as on a site; tests have nothing to lose."""

    def __init__(self, folder: Path, *, durable: bool = False) -> None:
        super().__init__(folder)
        self.durable = durable
        made = self._run("initdb", "-D", "data", "-U", "coatweave", "-A", "trust", "--no-sync")
        assert made.returncode == 0, made.stderr

    def command(self) -> list[str]:
        options = {"port": self.port, "listen_addresses": "127.0.0.1"}
        options |= {"fsync": "on" if self.durable else "off"}
        options |= {"unix_socket_directories": "", "max_connections": 60}
        words = [word for name, value in options.items() for word in ("-c", f"{name}={value}")]
        return [_program("postgres"), "-D", "data", *words]

    def answers(self) -> bool:
        try:
            with connect(self.address("postgres"), connect_timeout=2):
                return True
        except OperationalError:
            return False

    def address(self, database: str) -> str:
        return f"postgresql://coatweave@127.0.0.1:{self.port}/{database}"

    def make_database(self, name: str, template: str = "template1") -> str:
        """Make a database, as a copy of another that nobody is connected to; return its address."""
        with connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"'.encode())
        return self.address(name)

    def stop_at_once(self) -> None:
        """As when the machine's owner pulls the plug of this server alone: no goodbye."""
        self.kill(signal.SIGQUIT)

    def _run(self, program: str, *words: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            [_program(program), *words],
            cwd=self.folder,
            check=False,
            capture_output=True,
            text=True,
            user=USER,
            group=GROUP,
        )


class Redis(Server):
    """Keeps nothing on disk: what it is restarted with is nothing."""

    def command(self) -> list[str]:
        words = [
            "--port",
            str(self.port),
            "--bind",
            "127.0.0.1",
            "--save",
            "",
            "--appendonly",
            "no",
        ]
        return ["redis-server", *words]

    def answers(self) -> bool:
        try:
            with socket.create_connection(("127.0.0.1", self.port), timeout=2) as caller:
                caller.sendall(b"PING\r\n")
                return caller.recv(5) == b"+PONG"
        except OSError:
            return False

    @property
    def address(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"


def _program(name: str) -> str:
    """Debian keeps the programs of each version of PostgreSQL apart."""
    newest = max(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), default=None)
    return str(newest or name)
