"""Addresses of crews' pages that were given out before pages had rows of their own."""

import hashlib
import hmac
from base64 import urlsafe_b64encode
from datetime import UTC, date, datetime
from importlib import import_module

import pytest
from django.apps import apps
from pytest_django import Settings

from scheduling.models import CrewPage, FeedLink
from scheduling.queries.links import page_by_secret
from scheduling.services.links import make_link, page_address, renew_link, revoke_link
from tests.factories import make_company, make_crew

migration = import_module("scheduling.migrations.0016_pages_of_links")
pytestmark = pytest.mark.django_db


def old_secret(link: FeedLink, generation: int) -> str:
    """As it was made until then: the link's id, and a MAC of it and its generation."""
    mac = hmac.digest(b"a key", f"page:{link.public_id}:{generation}".encode(), hashlib.sha256)
    return urlsafe_b64encode(link.public_id.bytes + mac).decode()


def test_they_open_the_same_pages_or_say_that_they_have_ended(settings: Settings) -> None:
    settings.LINK_KEY = "a key"
    company = make_company()
    plain, renewed, revoked = (make_link(crew=make_crew(company, n)) for n in ("A", "B", "C"))
    renew_link(link=renew_link(link=renewed))
    revoke_link(link=revoked, now=datetime(2026, 3, 1, tzinfo=UTC))
    FeedLink.objects.update(rendered_on=date(2026, 3, 1))
    migration.give_pages(apps, None)
    migration.render_again(apps, None)

    def opens(link: FeedLink, generation: int) -> bool:
        found = page_by_secret(old_secret(link, generation))
        assert found
        assert found.row.crew == link.crew
        return not found.has_ended

    assert opens(plain, 1)
    assert [opens(renewed, number) for number in (1, 2, 3)] == [False, False, True]
    assert not opens(revoked, 1)
    assert old_secret(renewed, 3) in page_address(CrewPage.objects.get(crew=renewed.crew))
    assert not FeedLink.objects.exclude(rendered_on=None), "until then there was no packed form"
