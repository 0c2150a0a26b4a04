"""Secret feed addresses."""

import hashlib
import hmac
from base64 import urlsafe_b64encode
from datetime import UTC, datetime

import pytest
from pytest_django import Settings

from scheduling.models import FeedLink
from scheduling.queries.links import link_by_secret
from scheduling.services.links import (
    feed_address,
    make_link,
    make_links,
    renew_link,
    revoke_link,
    webcal_address,
)
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)


def secret_of(link: FeedLink) -> str:
    return feed_address(link).split("/")[-2]


def test_a_secret_is_the_hmac_of_id_and_generation(settings: Settings) -> None:
    """RFC 2104 HMAC with SHA-256, RFC 4648 URL-safe alphabet without padding."""
    settings.LINK_KEY = "a key"
    link = make_link(crew=make_crew(make_company()))
    mac = hmac.new(b"a key", f"{link.public_id}:1".encode(), hashlib.sha256).digest()
    assert secret_of(link) == urlsafe_b64encode(mac).decode().rstrip("=")
    assert len(secret_of(link)) == 43
    assert link.secret_sha256 == hashlib.sha256(secret_of(link).encode()).hexdigest()


def test_no_column_holds_the_secret() -> None:
    link = make_link(crew=make_crew(make_company()))
    assert secret_of(link) not in str(FeedLink.objects.values().get())


def test_a_crew_has_one_link() -> None:
    company = make_company()
    crew = make_crew(company)
    assert make_link(crew=crew) == make_link(crew=crew) == make_links(company=company)[0]


def test_renewing_changes_the_address_and_ends_the_old_one() -> None:
    link = make_link(crew=make_crew(make_company()))
    old = secret_of(link)
    new = secret_of(renew_link(link=link))
    assert link_by_secret(old) is None
    assert link_by_secret(new) == link


def test_a_revoked_link_is_found_and_says_since_when() -> None:
    link = revoke_link(link=make_link(crew=make_crew(make_company())), now=NOW)
    found = link_by_secret(secret_of(link))
    assert found is not None
    assert found.revoked_at == NOW
    assert renew_link(link=found).revoked_at is None


@pytest.mark.parametrize(
    ("name", "slug"), [("North crew", "north-crew"), ("Crew Ü/4", "crew-u4"), ("北", "crew")]
)
def test_addresses_end_in_a_name_for_people(settings: Settings, name: str, slug: str) -> None:
    settings.SITE_URL = "https://plan.example"
    link = make_link(crew=make_crew(make_company(), name))
    secret = secret_of(link)
    assert feed_address(link) == f"https://plan.example/feeds/{secret}/{slug}.ics"
    assert webcal_address(link) == f"webcal://plan.example/feeds/{secret}/{slug}.ics"
