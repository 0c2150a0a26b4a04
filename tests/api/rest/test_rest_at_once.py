"""Writes of one key that come at the same moment, over connections of their own to a file."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest
from django.core.management import call_command
from django.db import connections

from finishing.models import Crew, House, SentRequest
from tests.api.rest.api_clients import Program, program
from tests.factories import make_company

HOUSES, CREWS = "/api/v1/houses/", "/api/v1/crews/"
AT_ONCE = 4
NEW = {"name": "New house", "zone": "UTC", "handover_on": "2026-04-01"}


@pytest.fixture
def file_database(tmp_path: Path, transactional_db: None) -> Iterator[None]:
    """Put the tests' database aside for an empty one in a file, which threads share."""
    connection = connections["default"]
    aside = connection.settings_dict["NAME"], connection.connection
    connection.connection = None
    connection.settings_dict["NAME"] = str(tmp_path / "at_once.sqlite3")
    call_command("migrate", run_syncdb=True, verbosity=0)
    yield
    connection.close()
    connection.settings_dict["NAME"], connection.connection = aside
    assert (tmp_path / "at_once.sqlite3").stat().st_size > 100_000


def at_once(send: object) -> list[int]:
    """Return the statuses of a request that several threads send at one moment."""
    start = Barrier(AT_ONCE)

    def one(_number: int) -> int:
        start.wait()
        try:
            status: int = send()  # type: ignore[operator]
            return status
        finally:
            connections.close_all()

    with ThreadPoolExecutor(AT_ONCE) as threads:
        return sorted(threads.map(one, range(AT_ONCE)))


@pytest.mark.usefixtures("file_database")
def test_a_write_sent_several_times_at_once_is_carried_out_once() -> None:
    secret = program(make_company()).secret
    statuses = at_once(lambda: Program(secret).post(HOUSES, NEW, idempotency_key="k").status_code)
    assert House.objects.count() == SentRequest.objects.count() == 1
    assert 201 in statuses
    assert {*statuses} <= {201, 409}
    assert Program(secret).post(HOUSES, NEW, idempotency_key="k").status_code == 201
    assert House.objects.count() == 1


@pytest.mark.usefixtures("file_database")
def test_of_changes_from_the_same_version_at_once_one_is_kept() -> None:
    asker = program(make_company())
    made = asker.post(CREWS, {"name": "North", "zone": "UTC"})
    etag, address = made["ETag"], made["Location"]
    names = iter("ABCD")

    def rename() -> int:
        return Program(asker.secret).patch(address, {"name": next(names)}, etag).status_code

    assert at_once(rename) == [200, 412, 412, 412]
    assert Crew.objects.get().version == 2
