"""PostgreSQL has no room left on its disk, a small one in memory: nothing is half stored, whoever
publishes is told, and once there is room it goes on."""

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoDbBlocker, Settings

from finishing.models import Role, User
from finishing.services.no_room import has_no_room
from scheduling.queries.plans import working_plan
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.production.conftest import connected_to
from tests.production.servers import PostgreSQL
from tests.production.stack import Stack
from tests.production.told import SUNDAY, told

pytestmark = pytest.mark.services

SIZE_MB, BLOCK = 160, 1 << 16
ROOMS = [f"Room {number}" for number in range(300)]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of its own for one server, which only root may mount."""
    disk = tmp_path / "disk"
    disk.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", f"size={SIZE_MB}m,mode=0755", "tmpfs", str(disk)]
    if subprocess.run(words, check=False, capture_output=True).returncode:
        pytest.skip("this machine lets nobody mount a small disk")
    try:
        yield disk
    finally:
        subprocess.run(["umount", "--lazy", str(disk)], check=True)


@pytest.fixture
def little_room(
    stack: Stack, small_disk: Path, tmp_path: Path, django_db_blocker: DjangoDbBlocker
) -> Iterator[Path]:
    """Connected to a database whose server has the small disk."""
    for path in (tmp_path, *tmp_path.parents[:3]):
        path.chmod(0o755)  # the server is somebody else, who may not look into them
    server = PostgreSQL(small_disk / "postgres")
    server.start()
    server.make_database("small")
    replace(stack, postgres=server, database="small").manage("migrate", "--verbosity", "0")
    try:
        with django_db_blocker.unblock(), connected_to(server, "small"):
            yield small_disk
    finally:
        server.stop_at_once()


@contextmanager
def full(disk: Path) -> Iterator[None]:
    """Fill a disk to its last byte."""
    filler = disk / "filler"
    with filler.open("wb") as file:
        for size in (BLOCK, 512):
            try:
                while True:
                    os.write(file.fileno(), b"\0" * size)
            except OSError:  # no room for so much
                continue
    try:
        yield
    finally:
        filler.unlink()


def test_a_publication_that_has_no_room_changes_nothing_and_is_made_later(
    little_room: Path, settings: Settings
) -> None:
    company = make_company()
    crew, house = make_crew(company), make_house(company, rooms=ROOMS)
    make_plan(company, [task(crew, house, "2026-03-02 08:00", room=ROOMS[0])])
    publish_plan(company=company, now=SUNDAY)
    day = [f"2026-03-{3 + n // 60:02} {7 + n % 60 // 10:02}:{n % 10 * 6:02}" for n in range(300)]
    make_plan(
        company,
        [task(crew, house, at, minutes=5, room=r) for at, r in zip(day, ROOMS, strict=True)],
    )
    owner = User.objects.create_user(
        "office@site.example", "dust sheets", company=company, role=Role.OWNER
    )
    browser = Client(raise_request_exception=False)
    browser.force_login(owner)
    before, plan = told(company), working_plan(company)
    assert plan is not None
    with full(little_room):
        with patch("api.web.publish_views.timezone.now", return_value=SUNDAY):
            answer = browser.post(reverse("web:publish", args=[plan.public_id]))
        with pytest.raises(OperationalError) as refused:
            publish_plan(company=company, now=SUNDAY)
        assert told(company) == before, "what is there can be read"
    assert has_no_room(refused.value)
    assert (answer.status_code, "no room left" in answer.content.decode()) == (507, True)
    assert publish_plan(company=company, now=SUNDAY).publication.revision == 2
