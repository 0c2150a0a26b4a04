"""The disk is full: what was stored stays, and nothing is left of what has no room."""

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.db import OperationalError, connection
from pytest_django import Settings

from finishing.models import Company
from scheduling.models import CompanyPlans, FeedLink, Publication, Visit
from scheduling.services.feed_files import keep_file, kept_file
from scheduling.services.photos import keep_photo, photo_path
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import MONDAY

ROOM_BYTES = 10_000


@contextmanager
def little_room() -> Iterator[None]:
    """No file of this process gets larger: a write ends in the middle, as on a disk that fills."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (ROOM_BYTES, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def files_below(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_a_calendar_is_kept_as_it_was(settings: Settings, tmp_path: Path) -> None:
    settings.FEED_DIR = tmp_path
    keep_file(["a" * 64], b"as it was", MONDAY)
    with little_room(), pytest.raises(OSError, match="File too large"):
        keep_file(["a" * 64], b"x" * 2 * ROOM_BYTES, MONDAY)
    kept = kept_file("a" * 64)
    assert kept is not None
    assert kept.body == b"as it was"
    assert len(files_below(tmp_path)) == 1


def test_half_a_photo_is_not_kept(settings: Settings, tmp_path: Path) -> None:
    settings.PHOTO_DIR = tmp_path
    company = Company()
    first = keep_photo(company=company, photo=b"whole")
    with little_room(), pytest.raises(OSError, match="File too large"):
        keep_photo(company=company, photo=b"x" * 2 * ROOM_BYTES)
    assert files_below(tmp_path) == [photo_path(company, first)]


@pytest.mark.django_db(transaction=True)
def test_a_publication_that_has_no_room_changes_nothing() -> None:
    company = make_company()
    rooms = [f"Room {number}" for number in range(200)]
    crew, house = make_crew(company), make_house(company, rooms=rooms)
    make_plan(company, [task(crew, house, "2026-03-02 08:00", room=rooms[0])])
    publish_plan(company=company, now=MONDAY)
    anew = [
        task(
            crew,
            house,
            f"2026-03-{3 + number // 50:02} {7 + number // 6 % 8:02}:{number % 6}0",
            minutes=5,
            room=room,
        )
        for number, room in enumerate(rooms)
    ]
    make_plan(company, anew)
    before = rows()
    with full_database(), pytest.raises(OperationalError, match="database or disk is full"):
        publish_plan(company=company, now=MONDAY)
    assert rows() == before
    assert publish_plan(company=company, now=MONDAY).publication.revision == 2


@contextmanager
def full_database() -> Iterator[None]:
    """SQLite may take no further page, as when its disk is full, and has none to spare."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")
        most = cursor.execute("PRAGMA max_page_count").fetchone()[0]
        cursor.execute("PRAGMA max_page_count = 1")  # never below what it has
        try:
            yield
        finally:
            cursor.execute(f"PRAGMA max_page_count = {most}")


def rows() -> list[list[Any]]:
    models = (Publication, Visit, CompanyPlans, FeedLink)
    return [list(model._default_manager.order_by("pk").values()) for model in models]
