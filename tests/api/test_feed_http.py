"""The feed over HTTP: what calendar programs rely on."""

import hashlib
import logging
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from functools import partial

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Crew
from scheduling.models import FeedLink
from scheduling.models.link import OUTDATED
from scheduling.services.fetches import FETCHES
from scheduling.services.links import feed_address, renew_link, revoke_link
from scheduling.services.publish import publish_plan
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.scheduling.feed_reading import crew_feed

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew() -> Crew:
    company = make_company()
    crew = make_crew(company)
    start = timezone.now().replace(microsecond=0) + timedelta(days=3)
    make_plan(company, [task(crew, make_house(company), start)])
    publish_plan(company=company, now=timezone.now())
    return crew


@pytest.fixture
def link(crew: Crew) -> FeedLink:
    return FeedLink.objects.get(crew=crew)


@pytest.fixture
def path(link: FeedLink) -> str:
    return feed_address(link).removeprefix("http://127.0.0.1:8000")


def test_a_get_answers_the_whole_calendar(client: Client, path: str, link: FeedLink) -> None:
    response = client.get(path)
    assert response.status_code == 200
    assert response.content == bytes(link.body)
    assert response.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert response.headers["Content-Disposition"] == "inline"
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert response.headers["Vary"] == "Accept-Encoding"
    assert response.headers["ETag"] == f'"{hashlib.sha256(response.content).hexdigest()}"'
    assert parsedate_to_datetime(response.headers["Last-Modified"]) <= datetime.now(UTC)


def test_no_cookie_and_no_session(client: Client, path: str) -> None:
    response = client.get(path)
    assert not response.cookies
    assert response.headers["Vary"] == "Accept-Encoding"


def test_head_answers_the_headers_alone(client: Client, path: str) -> None:
    response, full = client.head(path), client.get(path)
    assert (response.status_code, response.content) == (200, b"")
    assert response.headers["ETag"] == full.headers["ETag"]


def test_an_unchanged_feed_is_304_with_its_headers(client: Client, path: str) -> None:
    """RFC 9110 15.4.5: a 304 carries Cache-Control, ETag and Last-Modified of the 200."""
    full = client.get(path)
    for condition in ("If-None-Match", "If-Modified-Since"):
        value = full.headers["ETag" if condition == "If-None-Match" else "Last-Modified"]
        response = client.get(path, headers={condition: value})
        assert (response.status_code, response.content) == (304, b"")
        for name in ("Cache-Control", "ETag", "Last-Modified"):
            assert response.headers[name] == full.headers[name]
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200


def test_a_304_is_one_query(
    client: Client, path: str, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    etag = client.get(path).headers["ETag"]
    with django_assert_num_queries(1):
        assert client.get(path, headers={"If-None-Match": etag}).status_code == 304


def test_any_name_at_the_end_will_do(client: Client, path: str) -> None:
    other = path.rsplit("/", 1)[0] + "/renamed.ics"
    assert client.get(other).content == client.get(path).content


@pytest.mark.parametrize("method", ["post", "put", "delete", "patch", "options"])
def test_other_methods_are_405(path: str, method: str) -> None:
    """Also for a client that Django would ask for a CSRF token."""
    client = Client(enforce_csrf_checks=True)
    response = getattr(client, method)(path)
    assert response.status_code == 405
    assert response.headers["Allow"] == "GET, HEAD"


def test_propfind_is_405(client: Client, path: str) -> None:
    assert client.generic("PROPFIND", path).status_code == 405


@pytest.mark.parametrize("accept", [None, "", "text/html", "application/json;q=0.1", "nonsense"])
def test_nothing_is_negotiated(client: Client, path: str, accept: str | None) -> None:
    """One importer sends no Accept at all; others send that of a browser."""
    headers = {} if accept is None else {"Accept": accept}
    answer = client.get(path, headers=headers)
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.content == client.get(path).content


@pytest.mark.parametrize("other", ["", "/", "/crew", "/crew.ics/", ".ics"])
def test_no_address_leads_elsewhere(client: Client, path: str, other: str) -> None:
    """Programs that follow a redirect store where it leads, or none at all."""
    assert client.get(path.rsplit("/", 1)[0] + other).status_code == 404


def test_a_secret_cut_short_is_404(client: Client, path: str) -> None:
    secret = path.split("/")[2]
    for other in (secret[:-1], secret[:20], secret[1:]):
        assert client.get(path.replace(secret, other)).status_code == 404


def test_nothing_in_the_bytes_is_of_the_request(client: Client, path: str) -> None:
    """Neither when it came nor by what name or language."""
    first = client.get(path)
    FeedLink.objects.update(**OUTDATED)
    again = client.get(path, headers={"Host": "localhost", "Accept-Language": "es"})
    assert (again.content, again.headers["ETag"]) == (first.content, first.headers["ETag"])
    assert path.split("/")[2].encode() not in first.content


def test_an_unknown_secret_is_404(client: Client) -> None:
    response = client.get("/feeds/nobody-knows/crew.ics")
    assert response.status_code == 404
    assert "text/calendar" not in response.headers["Content-Type"]


def test_a_renewed_link_ends_the_old_address(client: Client, link: FeedLink, path: str) -> None:
    renew_link(link=link)
    renew_link(link=link)
    answer = client.get(path)
    assert answer.status_code == 410
    assert "Ask the office for its new address" in answer.content.decode()


def test_a_revoked_link_is_410(client: Client, link: FeedLink, path: str) -> None:
    revoke_link(link=link, now=timezone.now())
    assert client.get(path).status_code == 410


def test_a_feed_that_was_never_rendered_is_whole(client: Client, crew: Crew, path: str) -> None:
    FeedLink.objects.update(body=b"", etag="", modified_at=None, **OUTDATED)
    today = timezone.now().date()
    assert client.get(path).content == crew_feed(crew=crew, today=today)


def test_an_answer_writes_nothing_and_its_fetch_is_written_with_others_later(
    client: Client, link: FeedLink, path: str, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(1):
        client.get(path, headers={"User-Agent": "first"})
    client.get(path, headers={"User-Agent": "second " + "x" * 300})
    link.refresh_from_db()
    assert link.fetched_at is None
    FETCHES.write()
    link.refresh_from_db()
    assert link.fetched_at is not None
    assert (link.fetched_by, link.fetched_revision) == (("second " + "x" * 300)[:200], 1)


@pytest.mark.parametrize("packed", ["", "gzip"])
def test_a_client_with_older_bytes_has_the_newest_whole(
    client: Client, link: FeedLink, path: str, packed: str
) -> None:
    headers = {"If-None-Match": '"older"', "Accept-Encoding": packed}
    answer = client.get(path, headers=headers)
    stored = link.body_gzip if packed else link.body
    assert (answer.status_code, answer.content) == (200, bytes(stored))


def test_bytes_of_a_day_that_is_over_are_rendered_anew(
    client: Client, link: FeedLink, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the crew's clock: its zone's day begins with the row's ``good_until``."""
    link.refresh_from_db()
    assert link.good_until is not None
    for before, renderings in ((timedelta(seconds=1), 0), (timedelta(0), 1)):
        monkeypatch.setattr(timezone, "now", partial(lambda at: at, link.good_until - before))
        assert client.get(path).status_code == 200
        assert FeedLink.objects.get().rendering == link.rendering + renderings


def test_refusals_keep_the_secret_out_of_the_log(
    client: Client, path: str, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        client.put(path)
        client.get("/feeds/nobody-knows/crew.ics")
    assert "/feeds/" not in caplog.text
