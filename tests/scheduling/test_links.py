"""Secret addresses of feeds and crews' pages."""

import hashlib
import hmac
from base64 import urlsafe_b64encode
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import call_command
from django.db.models import Model
from pytest_django import DjangoAssertNumQueries, Settings

from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from scheduling.models import CrewPage, FeedLink, FormerPageSecret, FormerSecret
from scheduling.queries.links import Found, link_by_secret, page_by_secret
from scheduling.services.links import (
    add_link,
    blank_link,
    edit_link,
    feed_address,
    make_link,
    make_links,
    make_page,
    page_address,
    renew_link,
    revoke_link,
    webcal_address,
)
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)


def secret_of(link: FeedLink) -> str:
    return feed_address(link).split("/")[-2]


def page_secret_of(page: CrewPage) -> str:
    return page_address(page).split("/")[-2]


def test_a_secret_is_the_hmac_of_id_and_generation(settings: Settings) -> None:
    """RFC 2104 HMAC with SHA-256, RFC 4648 URL-safe alphabet without padding: 256 bits."""
    settings.LINK_KEY = "a key"
    link = make_link(crew=make_crew(make_company()))
    mac = hmac.new(b"a key", f"{link.public_id}:1".encode(), hashlib.sha256).digest()
    assert secret_of(link) == urlsafe_b64encode(mac).decode().rstrip("=")
    assert len(secret_of(link)) == 43
    assert link.secret_sha256 == hashlib.sha256(secret_of(link).encode()).hexdigest()


def test_no_column_holds_the_secret() -> None:
    crew = make_crew(make_company())
    link, page = make_link(crew=crew), make_page(crew=crew)
    old = secret_of(link), page_secret_of(page)
    renew_link(link=link)
    renew_link(link=page)
    models: tuple[type[Model], ...] = (FeedLink, CrewPage, FormerSecret, FormerPageSecret)
    stored = str([list(model._default_manager.values()) for model in models])
    for secret in (*old, secret_of(link), page_secret_of(page)):
        assert secret not in stored


def test_a_crew_has_one_feed_and_one_page_of_its_own() -> None:
    company = make_company()
    crew = make_crew(company)
    make_links(company=company)
    make_links(company=company)
    assert [make_link(crew=crew)] == [*FeedLink.objects.all()]
    assert [make_page(crew=crew)] == [*CrewPage.objects.all()]


def test_renewing_changes_the_address_and_ends_the_old_one() -> None:
    link = make_link(crew=make_crew(make_company()))
    old = secret_of(link)
    new = secret_of(renew_link(link=link))
    assert link_by_secret(old) == Found(link, has_ended=True)
    assert link_by_secret(new) == Found(link, has_ended=False)


def test_a_revoked_link_is_found_and_has_ended() -> None:
    link = revoke_link(link=make_link(crew=make_crew(make_company())), now=NOW)
    found = link_by_secret(secret_of(link))
    assert found is not None
    assert found.has_ended
    assert found.row.revoked_at == NOW
    assert renew_link(link=found.row).revoked_at is None


def test_a_secret_is_found_in_one_query(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    link = make_link(crew=make_crew(make_company()))
    secret = secret_of(link)
    with django_assert_num_queries(1):
        found = link_by_secret(secret)
        assert found
        assert (found.row.rendered_on, found.row.zone) == (None, "Europe/Dublin")


@pytest.mark.parametrize(
    ("name", "slug"), [("North crew", "north-crew"), ("Crew Ü/4", "crew-u4"), ("北", "crew")]
)
def test_addresses_end_in_a_name_for_people(settings: Settings, name: str, slug: str) -> None:
    settings.SITE_URL = "https://plan.example"
    link = make_link(crew=make_crew(make_company(), name))
    secret = secret_of(link)
    assert feed_address(link) == f"https://plan.example/feeds/{secret}/{slug}.ics"
    assert webcal_address(link) == f"webcal://plan.example/feeds/{secret}/{slug}.ics"


def test_a_page_has_a_secret_that_the_feeds_does_not_give_away(settings: Settings) -> None:
    settings.SITE_URL = "https://plan.example"
    crew = make_crew(make_company())
    link, page = make_link(crew=crew), make_page(crew=crew)
    secret = page_secret_of(page)
    assert page_address(page) == f"https://plan.example/crew/{secret}/"
    assert len(secret) == 64, "what log lines are searched for"
    assert secret_of(link) not in secret
    assert page_by_secret(secret) == Found(page, has_ended=False)
    assert page_by_secret(secret_of(link)) is None
    assert link_by_secret(secret) is None


def test_a_page_is_renewed_and_revoked_by_itself() -> None:
    crew = make_crew(make_company())
    link, page = make_link(crew=crew), make_page(crew=crew)
    old = page_secret_of(page)
    renew_link(link=page)
    assert page_by_secret(old) == Found(page, has_ended=True)
    found = page_by_secret(page_secret_of(revoke_link(link=page, now=NOW)))
    assert found is not None
    assert found.has_ended
    assert link_by_secret(secret_of(link)) == Found(link, has_ended=False)


@pytest.mark.parametrize("secret", ["", "short", "ü" * 64, "\ud800", "=" * 64, "A" * 64, "A" * 43])
def test_what_is_no_secret_opens_nothing(secret: str) -> None:
    crew = make_crew(make_company())
    make_link(crew=crew)
    make_page(crew=crew)
    assert page_by_secret(secret) is None
    assert link_by_secret(secret) is None


def test_a_secret_cut_short_or_changed_opens_nothing() -> None:
    link = make_link(crew=make_crew(make_company()))
    secret = secret_of(link)
    for other in (secret[:-1], secret[1:], secret + "A", secret.swapcase(), secret + "="):
        assert link_by_secret(other) is None


def rekeyed() -> str:
    out = StringIO()
    call_command("rekey_links", stdout=out)
    return out.getvalue()


def test_a_former_key_still_shows_the_addresses_made_with_it(settings: Settings) -> None:
    settings.LINK_KEY = "old key"
    crew = make_crew(make_company())
    link, page = make_link(crew=crew), make_page(crew=crew)
    addresses = feed_address(link), page_address(page)
    settings.LINK_KEY, settings.FORMER_LINK_KEYS = "new key", ["old key"]
    assert (feed_address(link), page_address(page)) == addresses
    settings.FORMER_LINK_KEYS = []
    assert (feed_address(link), webcal_address(link), page_address(page)) == ("", "", "")
    assert link_by_secret(addresses[0].split("/")[-2]) == Found(link, has_ended=False)
    new = make_link(crew=make_crew(crew.company, "South crew"))
    mac = hmac.digest(b"new key", f"{new.public_id}:1".encode(), "sha256")
    assert secret_of(new) == urlsafe_b64encode(mac).decode().rstrip("=")


def test_after_a_change_of_key_links_get_new_addresses_and_the_old_work_on(
    settings: Settings,
) -> None:
    settings.LINK_KEY = "old key"
    crew = make_crew(make_company())
    link, page = make_link(crew=crew), make_page(crew=crew)
    old = secret_of(link), page_secret_of(page)
    settings.LINK_KEY = "new key"
    assert rekeyed() == "2 of 2 addresses are made with the newest key now\n"
    assert rekeyed() == "0 of 2 addresses are made with the newest key now\n"
    link.refresh_from_db()
    page.refresh_from_db()
    assert secret_of(link) != old[0]
    for secret in (old[0], secret_of(link)):
        assert link_by_secret(secret) == Found(link, has_ended=False)
    for secret in (old[1], page_secret_of(page)):
        assert page_by_secret(secret) == Found(page, has_ended=False)
    renew_link(link=link)
    assert link_by_secret(old[0]) == Found(link, has_ended=True)
    revoke_link(link=page, now=NOW)
    assert page_by_secret(old[1]) == Found(page, has_ended=True)


def test_a_revoked_link_stays_so_through_a_change_of_key(settings: Settings) -> None:
    settings.LINK_KEY = "old key"
    link = revoke_link(link=make_link(crew=make_crew(make_company())), now=NOW)
    old = secret_of(link)
    settings.LINK_KEY = "new key"
    rekeyed()
    link.refresh_from_db()
    for secret in (old, secret_of(link)):
        assert link_by_secret(secret) == Found(link, has_ended=True)


def test_of_one_subject_each_calendar_is_for_somebody_else() -> None:
    company = make_company()
    house = make_house(company)
    add_link(link=blank_link(company=company, house=house))
    again = blank_link(company=company, house=house)
    with pytest.raises(InputFaults, match="for whom"):
        add_link(link=again)
    again.for_whom = "Site manager"
    assert add_link(link=again).kind == "house"
    add_link(link=blank_link(company=company, person="Marek"))
    add_link(link=blank_link(company=company, person="Ana"))
    add_link(link=blank_link(company=company))
    assert FeedLink.objects.count() == 5


def test_options_that_cannot_be_are_refused_all_at_once() -> None:
    link = make_link(crew=make_crew(make_company()))
    values = {"weeks": 0, "for_whom": "x" * 200_000, "language": "xx"}
    with pytest.raises(InputFaults) as refused:
        edit_link(link=link, version=link.version, values=values, now=NOW)
    assert {fault.place for fault in refused.value.faults} == {"weeks", "for_whom", "language"}
    assert FeedLink.objects.get().weeks is None


def test_options_changed_meanwhile_are_not_overwritten() -> None:
    link = make_link(crew=make_crew(make_company()))
    edit_link(link=link, version=1, values={"weeks": 3}, now=NOW)
    with pytest.raises(StaleRowsError):
        edit_link(link=link, version=1, values={"weeks": 4}, now=NOW)
    assert FeedLink.objects.get().weeks == 3
