"""Real servers for one session of tests, and a database of its own for each test."""

import signal
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import count
from pathlib import Path

import pytest
from django.db import connections
from pytest_django import DjangoDbBlocker, Settings

from finishing.config.celery import app
from tests.production.servers import PostgreSQL, Redis
from tests.production.stack import Stack

MIGRATED = "migrated"
_numbers = count(1)


@pytest.fixture(scope="session")
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="coatweave-services-") as name:
        path = Path(name)
        path.chmod(0o755)
        yield path


@pytest.fixture(scope="session")
def postgres(folder: Path) -> Iterator[PostgreSQL]:
    server = PostgreSQL(folder / "postgres")
    server.start()
    yield server
    server.stop_at_once()


@pytest.fixture(scope="session")
def redis(folder: Path) -> Iterator[Redis]:
    server = Redis(folder / "redis")
    server.start()
    yield server
    server.kill(signal.SIGKILL)


@pytest.fixture(scope="session")
def migrated(postgres: PostgreSQL, redis: Redis, folder: Path) -> Stack:
    """A database that ``manage.py migrate`` has made, to copy."""
    postgres.make_database(MIGRATED)
    stack = Stack(postgres, redis, folder, MIGRATED)
    stack.manage("migrate", "--verbosity", "0")
    return stack


@pytest.fixture
def stack(
    migrated: Stack, tmp_path: Path, settings: Settings, django_db_blocker: DjangoDbBlocker
) -> Iterator[Stack]:
    """An empty migrated database, which this process is connected to, and the broker."""
    name = f"test_{next(_numbers)}"
    migrated.postgres.make_database(name, MIGRATED)
    stack = replace(migrated, folder=tmp_path, database=name)
    settings.CELERY_BROKER_URL = stack.redis.address
    app.conf.update(broker_url=stack.redis.address)
    settings.FEED_DIR = tmp_path / "feeds"
    with django_db_blocker.unblock(), connected_to(stack.postgres, name):
        yield stack


@contextmanager
def connected_to(postgres: PostgreSQL, name: str) -> Iterator[None]:
    """Have this process, with every thread that it starts, ask that database."""
    before = connections.settings["default"]
    there = {"HOST": "127.0.0.1", "PORT": str(postgres.port), "NAME": name, "USER": "coatweave"}
    connections["default"].close()
    connections.settings["default"] = {
        **before,
        **there,
        "ENGINE": "django.db.backends.postgresql",
        "OPTIONS": {"connect_timeout": 5},
    }
    del connections["default"]
    try:
        yield
    finally:
        connections.close_all()
        connections["default"].close()  # there is one to take away, whatever was done within
        connections.settings["default"] = before
        del connections["default"]
