"""The processes of a real site, started from the shell with the settings that it has."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

from tests.production.servers import PostgreSQL, Redis

COMMAND_WITHIN_S = 240.0
CELERY = ("--app", "finishing.config.celery")
GUNICORN = ("--config", "python:finishing.config.web_server")


@dataclass
class Stack:
    """A database of PostgreSQL, the broker, and the environment that names both."""

    postgres: PostgreSQL
    redis: Redis
    folder: Path
    database: str
    more: dict[str, str] = field(default_factory=dict)

    @property
    def environment(self) -> dict[str, str]:
        return {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "finishing.config.settings",
            "COATWEAVE_VAR": str(self.folder),
            "COATWEAVE_SECRET_KEY": settings.SECRET_KEY,
            "COATWEAVE_LINK_KEY": settings.LINK_KEY,
            "COATWEAVE_SEAL_KEY": settings.SEAL_KEY,
            "COATWEAVE_DATABASE_URL": self.postgres.address(self.database),
            "COATWEAVE_CELERY_BROKER_URL": self.redis.address,
            **self.more,
        }

    def manage(self, *words: str) -> str:
        """Run ``manage.py`` and return what it printed; fail with all of it where it fails."""
        ended = subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=settings.BASE_DIR,
            env=self.environment,
            check=False,
            capture_output=True,
            text=True,
            timeout=COMMAND_WITHIN_S,
        )
        assert ended.returncode == 0, f"{words}: {ended.stdout[-2000:]}{ended.stderr[-4000:]}"
        return ended.stdout

    def worker(self, *words: str) -> "AbstractContextManager[Family]":
        """A Celery worker with one child."""
        return self.family("celery", *CELERY, "worker", "--concurrency", "1", *words)

    def clock(self) -> "AbstractContextManager[Family]":
        """Celery's clock, which has lost runs looked for."""
        schedule = str(self.folder / "clock")
        return self.family("celery", *CELERY, "beat", "--pidfile", "", "--schedule", schedule)

    def pages(self, port: int, *words: str) -> "AbstractContextManager[Family]":
        """The web server as a site starts it."""
        bind = ("--bind", f"127.0.0.1:{port}")
        return self.family("gunicorn", *GUNICORN, *bind, *words, "finishing.config.wsgi")

    @contextmanager
    def family(self, module: str, *words: str) -> Iterator["Family"]:
        """A process of a site, in a process group of its own."""
        with self.log(module).open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", module, *words],
                cwd=settings.BASE_DIR,
                env=self.environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        family = Family(process)
        try:
            yield family
        finally:
            family.kill()

    def log(self, module: str) -> Path:
        return self.folder / f"{module}.log"


@dataclass
class Family:
    """A process with all of its children."""

    process: "subprocess.Popen[bytes]"

    def kill(self) -> None:
        """Kill all of them at once, which leaves them no word to say."""
        with suppress(ProcessLookupError):  # nobody is left
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def kill_parent(self) -> None:
        """Kill the first process alone: nobody is told, and nobody starts children anew."""
        self.process.kill()
        self.process.wait()

    def children(self) -> list[int]:
        """Return the ids of the processes that do the work: Celery's, or gunicorn's."""
        return [pid for pid in _below(self.process.pid) if b"scheduling.solver" not in _words(pid)]

    def solvers(self) -> list[int]:
        """Return the ids of the solver's processes that are going on below."""
        return [pid for pid in _below(self.process.pid) if b"scheduling.solver" in _words(pid)]

    def is_gone(self) -> bool:
        """Return whether neither the process nor any that it started is there."""
        self.process.poll()
        try:
            os.killpg(self.process.pid, 0)
        except ProcessLookupError:
            return True
        return False


def _below(pid: int) -> Iterator[int]:
    for path in Path(f"/proc/{pid}/task").glob("*/children"):
        try:
            children = [int(word) for word in path.read_text(encoding="ascii").split()]
        except OSError:  # it has ended meanwhile
            continue
        for child in children:
            yield child
            yield from _below(child)


def _words(pid: int) -> bytes:
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return b""
