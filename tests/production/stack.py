"""The processes of a real site, started from the shell with the settings that it has."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

from tests.production.servers import PostgreSQL, Redis

COMMAND_WITHIN_S = 240.0


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

    @contextmanager
    def worker(self, *words: str) -> Iterator["Worker"]:
        """A Celery worker with one child, in a process group of its own."""
        command = [sys.executable, "-m", "celery", "--app", "finishing.config.celery", "worker"]
        with (self.folder / "worker.log").open("ab") as log:
            process = subprocess.Popen(
                [*command, "--concurrency", "1", *words],
                cwd=settings.BASE_DIR,
                env=self.environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        worker = Worker(process)
        try:
            yield worker
        finally:
            worker.kill()


@dataclass
class Worker:
    """A worker with all of its children."""

    process: "subprocess.Popen[bytes]"

    def kill(self) -> None:
        """Kill the worker and its children at once, which leaves them no word to say."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()

    def planners(self) -> list[int]:
        """Return the ids of the children that do what messages ask for."""
        return [pid for pid in _below(self.process.pid) if b"celery" in _words(pid)]

    def solvers(self) -> list[int]:
        """Return the ids of the solver's processes that are going on below this worker."""
        return [pid for pid in _below(self.process.pid) if b"scheduling.solver" in _words(pid)]


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
