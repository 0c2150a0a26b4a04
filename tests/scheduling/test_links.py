"""Secret feed addresses."""

import hashlib
import hmac
from base64 import urlsafe_b64decode, urlsafe_b64encode
from datetime import UTC, datetime

import pytest
from pytest_django import Settings

from scheduling.models import FeedLink
from scheduling.queries.links import link_by_secret
from scheduling.services.links import (
    PageLink,
    feed_address,
    link_of_page,
    make_link,
    make_links,
    page_address,
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


def page_secret_of(link: FeedLink) -> str:
    return page_address(link).split("/")[-2]


def test_a_page_has_a_secret_that_the_feeds_does_not_give_away(settings: Settings) -> None:
    settings.SITE_URL = "https://plan.example"
    link = make_link(crew=make_crew(make_company()))
    secret = page_secret_of(link)
    assert page_address(link) == f"https://plan.example/crew/{secret}/"
    assert len(secret) == 64, "what log lines are searched for"
    assert secret_of(link) not in secret
    assert link_of_page(secret) == PageLink(link, has_ended=False)
    assert link_of_page(secret_of(link)) is None
    assert link_by_secret(secret) is None


def test_a_page_is_renewed_and_revoked_with_its_feed() -> None:
    link = make_link(crew=make_crew(make_company()))
    old = page_secret_of(link)
    renew_link(link=link)
    assert link_of_page(old) == PageLink(link, has_ended=True)
    found = link_of_page(page_secret_of(revoke_link(link=link, now=NOW)))
    assert found is not None
    assert found.has_ended
    assert found.link.revoked_at == NOW


def test_the_page_of_one_crew_is_not_anothers() -> None:
    company = make_company()
    first, second = (make_link(crew=make_crew(company, name)) for name in ("North", "South"))
    forged = urlsafe_b64encode(
        second.public_id.bytes + urlsafe_b64decode(page_secret_of(first))[16:]
    ).decode()
    assert link_of_page(forged) is None


@pytest.mark.parametrize("secret", ["", "short", "ü" * 64, "=" * 64, "A" * 64])
def test_what_is_no_secret_opens_no_page(secret: str) -> None:
    make_link(crew=make_crew(make_company()))
    assert link_of_page(secret) is None
