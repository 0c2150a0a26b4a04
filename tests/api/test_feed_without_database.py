"""Feeds while something fails: the last bytes from a file, or no answer at all."""

import socket
import threading
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from wsgiref.simple_server import WSGIRequestHandler, make_server

import pytest
from django.core.handlers.wsgi import WSGIHandler
from django.db import OperationalError
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from api.feeds import views
from scheduling.models import FeedLink
from scheduling.models.link import OUTDATED
from scheduling.queries.links import secret_digest
from scheduling.services import feeds
from scheduling.services.links import (
    feed_address,
    make_link,
    rekey_link,
    renew_link,
    revoke_link,
)
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db


@pytest.fixture
def link(settings: Settings, tmp_path: Path) -> FeedLink:
    settings.FEED_DIR = tmp_path / "feeds"
    return make_link(crew=make_crew(make_company()))


def path_of(link: FeedLink) -> str:
    return feed_address(link).removeprefix("http://127.0.0.1:8000")


def files(settings: Settings) -> set[str]:
    return {path.name for path in settings.FEED_DIR.glob("*")}


@pytest.fixture
def no_database(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(views, "stored_by_secret", fails)


def test_the_last_bytes_lie_in_a_file_named_by_the_hash(
    client: Client, link: FeedLink, settings: Settings
) -> None:
    answer = client.get(path_of(link))
    assert files(settings) == {f"{link.secret_sha256}.ics"}
    (file,) = settings.FEED_DIR.glob("*")
    assert file.read_bytes() == answer.content
    assert file.stat().st_mode & 0o077 == 0, "nobody else on the machine reads it"


@pytest.mark.parametrize("takes", ["", "gzip"])
def test_the_file_answers_as_the_row_does(
    client: Client, link: FeedLink, request: pytest.FixtureRequest, takes: str
) -> None:
    asked = {"Accept-Encoding": takes}
    before = client.get(path_of(link), headers=asked)
    request.getfixturevalue("no_database")
    after = client.get(path_of(link), headers=asked)
    assert (after.status_code, after.content) == (200, before.content)
    assert after.headers == before.headers
    same = {**asked, "If-None-Match": before.headers["ETag"]}
    assert client.get(path_of(link), headers=same).status_code == 304
    assert client.head(path_of(link)).status_code == 200


def test_whatever_fails_the_calendar_stays_as_it_was(
    client: Client, link: FeedLink, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A zone that there is not, say, or a visit that cannot be worded."""
    before = client.get(path_of(link))
    FeedLink.objects.update(**OUTDATED)
    type(link.crew).objects.update(zone="Mars/Olympus")  # type: ignore[union-attr]
    assert client.get(path_of(link)).content == before.content


def test_an_address_that_has_ended_leaves_no_file(
    client: Client,
    link: FeedLink,
    settings: Settings,
    django_capture_on_commit_callbacks: object,
) -> None:
    client.get(path_of(link))
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        renew_link(link=link)
    assert files(settings) == set()
    client.get(path_of(link))
    assert files(settings) == {f"{link.secret_sha256}.ics"}
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        revoke_link(link=link, now=timezone.now())
    assert files(settings) == set()


def test_after_a_change_of_key_both_addresses_have_their_file(
    client: Client, link: FeedLink, settings: Settings
) -> None:
    old = link.secret_sha256
    settings.LINK_KEY = "new key"
    rekey_link(link=link)
    link.refresh_from_db()
    client.get(path_of(link))
    assert files(settings) == {f"{old}.ics", f"{link.secret_sha256}.ics"}


def test_a_disk_that_takes_no_file_keeps_nobody_from_the_calendar(
    client: Client, link: FeedLink, settings: Settings, tmp_path: Path
) -> None:
    settings.FEED_DIR = tmp_path / "taken"
    settings.FEED_DIR.write_text("no folder")
    assert client.get(path_of(link)).status_code == 200


def test_one_that_cannot_be_rendered_keeps_nobody_from_publishing(
    link: FeedLink, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(**_: object) -> None:
        raise ValueError("no such word")

    monkeypatch.setattr(feeds, "feed_body", fails)
    feeds.render_feeds(company=link.company, now=timezone.now() + timedelta(days=1))
    assert "not rendered" in caplog.text


class Quiet(WSGIRequestHandler):
    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def port() -> Iterator[int]:
    """The project behind Python's own WSGI server."""
    with make_server("127.0.0.1", 0, WSGIHandler(), handler_class=Quiet) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        yield server.server_port
        server.shutdown()
        thread.join()


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_with_no_file_the_connection_ends_without_an_answer(
    port: int, no_database: None, settings: Settings, tmp_path: Path, method: str
) -> None:
    settings.FEED_DIR = tmp_path
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall(
            f"{method} /feeds/{'A' * 43}/crew.ics HTTP/1.1\r\nHost: localhost\r\n\r\n".encode()
        )
        assert line.recv(1000) == b""


def test_a_secret_that_has_no_file_shows_nobody_elses(
    client: Client, link: FeedLink, request: pytest.FixtureRequest
) -> None:
    client.get(path_of(link))
    request.getfixturevalue("no_database")
    for secret in ("A" * 43, link.secret_sha256, "../" + link.secret_sha256, secret_digest("")):
        answer = client.get(f"/feeds/{secret}/crew.ics")
        assert answer.status_code in {200, 404}
        if answer.status_code == 200:
            with pytest.raises(ConnectionResetError):
                list(answer)
