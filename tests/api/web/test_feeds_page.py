"""The page of calendar addresses: what it tells, and that it asks before an address ends."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import Crew
from scheduling.models import FeedLink, Publication
from scheduling.services.links import feed_address, make_link, page_address, webcal_address
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db


def path_of(address: str) -> str:
    return "/" + address.split("/", 3)[3]


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company())


@pytest.fixture
def client(sign_in: SignIn, crew: Crew) -> Client:
    return sign_in(crew.company)


def test_a_crew_without_addresses_is_given_some(client: Client, crew: Crew) -> None:
    assert "no addresses yet" in client.get("/company/feeds/").content.decode()
    client.post(f"/company/feeds/{crew.public_id}/make/")
    link = FeedLink.objects.get(crew=crew)
    text = client.get("/company/feeds/").content.decode()
    for address in (feed_address(link), webcal_address(link), page_address(link)):
        assert f'value="{address}"' in text
    assert "Nobody has ever fetched" in text


def test_a_calendar_not_fetched_since_crews_were_told_is_named(client: Client, crew: Crew) -> None:
    link, now = make_link(crew=crew), timezone.now()
    Publication.objects.create(company=crew.company, revision=1, published_at=now)
    rows = FeedLink.objects.filter(pk=link.pk)
    rows.update(fetched_at=now - timedelta(hours=1), fetched_by="<b>Planner</b>")
    text = client.get("/company/feeds/").content.decode()
    assert "Not fetched since crews were told last" in text
    assert "&lt;b&gt;Planner" in text
    rows.update(fetched_at=now + timedelta(hours=1))
    assert "Not fetched since" not in client.get("/company/feeds/").content.decode()


def test_new_addresses_are_asked_about_and_end_the_old(client: Client, crew: Crew) -> None:
    link = make_link(crew=crew)
    old = path_of(feed_address(link)), path_of(page_address(link))
    step = f"/company/feeds/{crew.public_id}/renew/"
    assert "must subscribe again" in client.get(step).content.decode()
    assert client.get(old[0]).status_code == 200
    assert client.post(step, {"generation": link.generation}).status_code == 302
    link.refresh_from_db()
    assert [client.get(path).status_code for path in old] == [410, 410]
    assert client.get(path_of(feed_address(link))).status_code == 200


def test_a_second_press_does_not_end_the_address_that_was_just_made(
    client: Client, crew: Crew
) -> None:
    link = make_link(crew=crew)
    step = f"/company/feeds/{crew.public_id}/renew/"
    client.post(step, {"generation": 1})
    refused = client.post(step, {"generation": 1})
    assert refused.status_code == 409
    assert 'name="generation" value="2"' in refused.content.decode()
    link.refresh_from_db()
    assert link.generation == 2


def test_a_rendered_feed_does_not_make_the_page_stale(client: Client, crew: Crew) -> None:
    link = make_link(crew=crew)
    client.get(path_of(feed_address(link)))  # counts the row's version up
    step = f"/company/feeds/{crew.public_id}/revoke/"
    assert client.post(step, {"generation": 1}).status_code == 302


def test_a_revoked_calendar_is_gone_until_there_is_a_new_address(
    client: Client, crew: Crew
) -> None:
    old = path_of(feed_address(make_link(crew=crew)))
    step = f"/company/feeds/{crew.public_id}/"
    client.post(f"{step}revoke/", {"generation": 1})
    assert client.get(old).status_code == 410
    text = client.get("/company/feeds/").content.decode()
    assert "Revoked" in text
    assert old not in text
    client.post(f"{step}renew/", {"generation": 1})
    assert FeedLink.objects.get().revoked_at is None


@pytest.mark.parametrize("step", ["make", "renew", "revoke"])
def test_another_companys_crew_is_not_found(sign_in: SignIn, crew: Crew, step: str) -> None:
    make_link(crew=crew)
    other = sign_in(make_company("Quay Finishing"))
    path = f"/company/feeds/{crew.public_id}/{step}/"
    assert other.post(path, {"generation": 1}).status_code == 404
    assert FeedLink.objects.get().generation == 1
    assert crew.name not in other.get("/company/feeds/").content.decode()


def test_secrets_are_neither_kept_nor_logged(
    client: Client, crew: Crew, caplog: pytest.LogCaptureFixture
) -> None:
    link = make_link(crew=crew)
    with caplog.at_level("DEBUG"):
        response = client.get("/company/feeds/")
        client.post(f"/company/feeds/{crew.public_id}/renew/", {"generation": 1})
    assert "no-store" in response["Cache-Control"]
    for address in (feed_address(link), page_address(link)):
        assert address.split("/")[4] not in caplog.text
