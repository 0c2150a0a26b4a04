"""Two people at once: one is held in the middle of what they do until the other has come."""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from importlib import import_module
from threading import Event
from typing import Any

import pytest
from django.db import connection, connections

from tests.production.servers import await_that

WITHIN_S = 60.0


class Held:
    """Holds the first who comes by a function, ``module.function`` of the services."""

    def __init__(self, patch: pytest.MonkeyPatch, name: str) -> None:
        module, function = name.split(".")
        self._real = getattr(import_module(f"scheduling.services.{module}"), function)
        self._reached, self._go_on = Event(), Event()
        patch.setattr(f"scheduling.services.{name}", self._come_by)

    def await_somebody(self) -> None:
        assert self._reached.wait(WITHIN_S), "nobody came by"

    def let_go(self) -> None:
        self._go_on.set()

    def _come_by(self, *args: Any, **kwargs: Any) -> Any:
        if not self._reached.is_set():
            self._reached.set()
            assert self._go_on.wait(WITHIN_S), "was not let go on"
        return self._real(*args, **kwargs)


class People(ThreadPoolExecutor):
    """Each does one thing, with a connection to the database of their own."""

    def begin[T](self, what: Callable[[], T]) -> "Future[T]":
        def do() -> T:
            try:
                return what()
            finally:
                connections.close_all()

        return self.submit(do)


def await_a_queue() -> None:
    """Return once somebody waits for a row that somebody else holds."""
    await_that(_somebody_waits, "somebody waits for a row")


def _somebody_waits() -> bool:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity"
            " WHERE wait_event_type = 'Lock' AND datname = current_database()"
        )
        return bool(cursor.fetchone()[0])
