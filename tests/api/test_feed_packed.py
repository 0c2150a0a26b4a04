"""Feeds as gzip: for who takes it, with the ETag of that form."""

import gzip

import pytest
from django.test import Client
from django.utils import timezone

from api.feeds.answers import accepts_gzip
from scheduling.services.links import feed_address, make_link
from tests.factories import make_company, make_crew


@pytest.mark.parametrize(
    ("header", "takes"),
    [
        ("gzip", True),
        ("deflate, GZip;q=0.5, br", True),
        ("x-gzip", True),
        ("gzip; q=0", False),
        ("gzip;q=0.000", False),
        ("identity", False),
        ("*", False),  # whoever takes anything is happiest with the plain file
        ("gzipped", False),
        ("", False),
    ],
)
def test_who_takes_gzip(header: str, takes: bool) -> None:
    """RFC 9110, 12.5.3."""
    assert accepts_gzip(header) is takes


@pytest.mark.django_db
def test_the_packed_form_has_an_etag_of_its_own(client: Client) -> None:
    """RFC 9110, 8.8.3.3: a strong ETag differs with the coding, and Vary says that it may."""
    path = feed_address(make_link(crew=make_crew(make_company())))[len("http://127.0.0.1:8000") :]
    plain = client.get(path)
    packed = client.get(path, headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in plain.headers
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.content) == plain.content
    assert len(packed.content) < len(plain.content)
    assert packed.headers["ETag"] != plain.headers["ETag"]
    for answer, takes in ((plain, ""), (packed, "gzip")):
        same = {"If-None-Match": answer.headers["ETag"], "Accept-Encoding": takes}
        unchanged = client.get(path, headers=same)
        assert unchanged.status_code == 304
        assert unchanged.headers["ETag"] == answer.headers["ETag"]
        assert unchanged.headers["Vary"] == answer.headers["Vary"] == "Accept-Encoding"
        assert unchanged.headers["Cache-Control"] == "private, no-cache"
        other = {**same, "Accept-Encoding": "gzip" if not takes else ""}
        assert client.get(path, headers=other).status_code == 200


@pytest.mark.django_db
def test_the_packed_form_is_stored_and_says_nothing_of_when(client: Client) -> None:
    """RFC 1952, 2.3.1: the stamp in its head is 0."""
    link = make_link(crew=make_crew(make_company()))
    path = feed_address(link)[len("http://127.0.0.1:8000") :]
    packed = client.get(path, headers={"Accept-Encoding": "gzip"})
    link.refresh_from_db()
    assert packed.content == bytes(link.body_gzip)
    assert packed.content[4:8] == b"\0\0\0\0"
    assert link.rendered_on == timezone.now().date()
