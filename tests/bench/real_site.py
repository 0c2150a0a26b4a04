"""A site for benches as docker-compose.yml has it: PostgreSQL, Redis, gunicorn, Celery workers.

PostgreSQL waits for its disk here, as it does there. Nothing of Django may be loaded before
``real_site`` has said where the database is.
"""

import os
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

from tests.production.servers import PostgreSQL, Redis, await_that, free_port
from tests.production.stack import Stack

DATABASE = "bench"


@contextmanager
def real_site(**more: str) -> Iterator[Stack]:
    """Start the servers and have this process ask the same database; all of it goes in the end.

    more: what else the environment of every process has.
    """
    with tempfile.TemporaryDirectory(prefix="coatweave-bench-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        postgres, redis = PostgreSQL(folder / "postgres", durable=True), Redis(folder / "redis")
        postgres.start()
        redis.start()
        try:
            postgres.make_database(DATABASE)
            shared = {"COATWEAVE_CACHE_URL": redis.address.removesuffix("0") + "1"}
            yield _begun(Stack(postgres, redis, folder, DATABASE, {**shared, **more}))
        finally:
            postgres.stop_at_once()
            redis.kill(signal.SIGKILL)


def _begun(stack: Stack) -> Stack:
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "finishing.config.settings",
        "COATWEAVE_VAR": str(stack.folder),
        "COATWEAVE_DATABASE_URL": stack.postgres.address(stack.database),
        "COATWEAVE_CELERY_BROKER_URL": stack.redis.address,
        **stack.more,
    }
    import django

    django.setup()
    stack.manage("migrate", "--verbosity", "0")
    return stack


@dataclass(frozen=True)
class Pages:
    """gunicorn with its workers. port: where it answers."""

    port: int
    process: "subprocess.Popen[bytes]"

    def resident_mb(self) -> list[float]:
        """Return the resident memory of each worker."""
        of_it = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [_resident_mb(int(pid)) for pid in of_it.read_text(encoding="ascii").split()]


@contextmanager
def pages_of(stack: Stack) -> Iterator[Pages]:
    """Serve the pages by the command line of docker-compose.yml, on a free port, from packages
    installed as its image has them."""
    python = _installed(stack)
    port, figures = free_port(), stack.folder / "prometheus"
    figures.mkdir(exist_ok=True)
    config = ("--config", "python:finishing.config.web_server", "--bind", f"127.0.0.1:{port}")
    with (stack.folder / "web.log").open("ab") as log:
        process = subprocess.Popen(
            [str(python), "-m", "gunicorn", *config, "finishing.config.wsgi"],
            env={
                **stack.environment,
                "PROMETHEUS_MULTIPROC_DIR": str(figures),
                "MALLOC_ARENA_MAX": "1",
            },
            stdout=log,
            stderr=log,
        )
    try:
        await_that(lambda: _is_ready(port), "gunicorn answers")
        yield Pages(port, process)
    finally:
        process.terminate()
        process.wait()


def _installed(stack: Stack) -> Path:
    """Install what pages need and nothing of the dev group; return its Python. All of it is
    compiled first: a process that compiles what it imports keeps tens of MB for it."""
    place, own = stack.folder / "venv", ("finishing", "scheduling", "api")
    install = ("uv", "sync", "--quiet", "--no-dev", "--compile-bytecode")
    environment = {**os.environ, "UV_PROJECT_ENVIRONMENT": str(place)}
    subprocess.run(install, env=environment, check=True)
    python = place / "bin" / "python"
    subprocess.run([python, "-m", "compileall", "-q", *own], check=True)
    return python


def _is_ready(port: int) -> bool:
    try:
        asked = HTTPConnection("127.0.0.1", port, timeout=10)
        asked.request("GET", "/readyz")
        return asked.getresponse().status == 200
    except OSError:
        return False


def _resident_mb(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20
