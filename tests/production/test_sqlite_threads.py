"""The embedded database, in a file as a small site has it: eight threads write and read at once."""

from pathlib import Path
from threading import Barrier

import pytest
from django.core.management import call_command
from django.db import connection, connections
from pytest_django import DjangoDbBlocker, Settings

from scheduling.services.publish import publish_plan
from scheduling.services.take_back import take_back
from tests.production.at_once import People
from tests.production.told import SUNDAY, told, told_and_planned_anew

pytestmark = pytest.mark.services

THREADS, TIMES = 8, 3


def test_nobody_finds_the_database_locked(
    tmp_path: Path, settings: Settings, django_db_blocker: DjangoDbBlocker
) -> None:
    settings.MIGRATION_MODULES = dict.fromkeys(("finishing", "scheduling"))  # from the models
    settings.FEED_DIR = tmp_path / "feeds"
    before = connections.settings["default"]
    connections["default"].close()  # another test may have left this thread without one
    connections.settings["default"] = {**before, "NAME": str(tmp_path / "site.sqlite3")}
    del connections["default"]
    both = Barrier(THREADS)

    def work(number: int) -> int:
        both.wait(60)
        company = told_and_planned_anew(f"Finishing {number}")
        for _ in range(TIMES):
            publish_plan(company=company, now=SUNDAY)
            last = told(company)
            take_back(company=company, revision=len(last[2]), now=SUNDAY)
        return len(told(company)[2])

    try:
        with django_db_blocker.unblock():
            make_tables()
            with People(THREADS) as people:
                done = [people.begin(lambda number=n: work(number)) for n in range(THREADS)]  # type: ignore[misc]
            assert [one.result() for one in done] == [1 + 2 * TIMES] * THREADS
            connections.close_all()
    finally:
        connections.settings["default"] = before
        del connections["default"]


def make_tables() -> None:
    """Make the tables from the models."""
    call_command("migrate", "--run-syncdb", "--verbosity", "0")
    assert connection.vendor == "sqlite"
