"""The page of calendars: what it tells, how they are made, and that it asks before one ends."""

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, Crew, Role
from scheduling.models import CrewPage, FeedLink, Publication
from scheduling.services.links import (
    add_link,
    blank_link,
    feed_address,
    make_link,
    make_page,
    page_address,
    webcal_address,
)
from scheduling.services.seen import say_seen
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db


def path_of(address: str) -> str:
    return "/" + address.split("/", 3)[3]


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company())


@pytest.fixture
def company(crew: Crew) -> Company:
    return crew.company


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def page_text(client: Client) -> str:
    return client.get("/company/feeds/").content.decode()


def test_a_crew_without_a_page_is_given_one(client: Client, crew: Crew) -> None:
    assert "no page yet" in page_text(client)
    client.post(f"/company/crews/{crew.public_id}/page/make/")
    page = CrewPage.objects.get(crew=crew)
    assert f'value="{page_address(page)}"' in page_text(client)


def test_both_addresses_of_a_calendar_are_shown(client: Client, crew: Crew) -> None:
    link = make_link(crew=crew)
    text = page_text(client)
    for address in (feed_address(link), webcal_address(link)):
        assert f'value="{address}"' in text
    assert "Nobody has ever fetched" in text


@pytest.mark.parametrize("of", ["crew", "house", "person", "company"])
def test_a_calendar_of_each_kind_is_made_and_changed(client: Client, crew: Crew, of: str) -> None:
    house = make_house(crew.company)
    value = {"crew": crew.public_id, "house": house.public_id, "person": "North crew 1"}.get(of, "")
    new = f"/company/feeds/new/?of={of}:{value}"
    form = client.get(new)
    assert ("Names the crews" in form.text) == (of == "house")
    typed = {"version": "0", "for_whom": "Site manager", "weeks": "6", "language": "es"}
    assert client.post(new, {**typed, "has_alarms": "on"}).status_code == 302
    link = FeedLink.objects.get()
    assert (link.kind, link.for_whom, link.weeks, link.language) == (of, "Site manager", 6, "es")
    assert (link.has_alarms, link.shows_drying) == (True, False)
    assert "6 weeks ahead, Español, with reminders" in page_text(client)
    options = f"/company/feeds/{link.public_id}/"
    typed = {**typed, "version": str(link.version), "weeks": "", "shows_drying": "on"}
    assert client.post(options, typed).status_code == 302
    link.refresh_from_db()
    assert (link.weeks, link.has_alarms, link.shows_drying) == (None, False, True)


def test_a_new_calendar_of_a_house_shows_drying_unless_unticked(
    client: Client, company: Company
) -> None:
    house = make_house(company)
    text = client.get(f"/company/feeds/new/?of=house:{house.public_id}").text
    assert '<input type="checkbox" name="shows_drying" id="id_shows_drying" checked>' in text
    assert '<input type="checkbox" name="has_alarms" id="id_has_alarms">' in text
    assert '<input type="checkbox" name="names_crews" id="id_names_crews">' in text


def test_faults_are_told_at_once_and_what_was_typed_is_kept(client: Client, crew: Crew) -> None:
    new = f"/company/feeds/new/?of=crew:{crew.public_id}"
    refused = client.post(
        new, {"version": "0", "for_whom": "x" * 200_000, "weeks": "99", "language": "xx"}
    )
    assert refused.status_code == 422
    assert refused.text.count('class="errorlist"') == 3
    assert "99" in refused.text
    assert not FeedLink.objects.exists()


def test_a_form_of_5_mb_is_refused_in_a_sentence(client: Client, crew: Crew) -> None:
    new = f"/company/feeds/new/?of=crew:{crew.public_id}"
    refused = client.post(new, {"version": "0", "for_whom": "x" * 5_000_000})
    assert refused.status_code == 400
    assert "What was sent is too large" in refused.text
    assert not FeedLink.objects.exists()


def test_two_people_at_the_same_options_are_told_apart(client: Client, crew: Crew) -> None:
    link = make_link(crew=crew)
    FeedLink.objects.update(weeks=2, version=7)
    shown = {"version": "1", "initial-weeks": "", "weeks": "4"}
    refused = client.post(f"/company/feeds/{link.public_id}/", shown)
    assert refused.status_code == 409
    assert "it is now “2”, you typed “4”" in refused.text


@pytest.mark.parametrize(
    "of", ["", "crew:", "crew:nobody", "house:7", "person:Nobody", "spare:", "company"]
)
def test_nothing_is_made_of_what_there_is_not(client: Client, of: str) -> None:
    expected = 200 if of == "company" else 404
    assert client.get("/company/feeds/new/", {"of": of}).status_code == expected


def test_a_calendar_that_has_not_the_newest_plan_is_named(client: Client, crew: Crew) -> None:
    link, now = make_link(crew=crew), timezone.now()
    Publication.objects.create(company=crew.company, revision=3, published_at=now)
    rows = FeedLink.objects.filter(pk=link.pk)
    rows.update(fetched_at=now, fetched_by="<b>Planner</b>", fetched_revision=2)
    text = page_text(client)
    assert "Not fetched since crews were told last" in text
    assert "has not fetched it yet" in text
    assert "not confirmed" in text
    assert "&lt;b&gt;Planner" in text
    rows.update(fetched_revision=3)
    say_seen(crew=crew, revision=3, now=now)
    text = page_text(client)
    assert "Not fetched since" not in text
    assert "has fetched it" in text
    assert "not confirmed" not in text


def test_the_number_of_calendars_does_not_matter(
    client: Client, crew: Crew, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    company = crew.company
    Publication.objects.create(company=company, revision=1, published_at=timezone.now())
    for number in range(5):
        link = blank_link(company=company, house=make_house(company, f"House {number}"))
        add_link(link=link)
        make_page(crew=make_crew(company, f"Crew {number}"))
    client.get("/company/feeds/")
    with django_assert_num_queries(11):
        client.get("/company/feeds/")


def test_a_new_address_is_asked_about_and_ends_the_old(client: Client, crew: Crew) -> None:
    link = make_link(crew=crew)
    old = path_of(feed_address(link))
    step = f"/company/feeds/{link.public_id}/renew/"
    assert "must subscribe again" in client.get(step).content.decode()
    assert client.get(old).status_code == 200
    assert client.post(step, {"generation": link.generation}).status_code == 302
    link.refresh_from_db()
    assert client.get(old).status_code == 410
    assert client.get(path_of(feed_address(link))).status_code == 200


def test_a_crews_page_is_renewed_by_itself(client: Client, crew: Crew) -> None:
    link, page = make_link(crew=crew), make_page(crew=crew)
    old = path_of(page_address(page))
    step = f"/company/crew-pages/{page.public_id}/renew/"
    assert "send it the message" in client.get(step).content.decode()
    assert client.post(step, {"generation": 1}).status_code == 302
    assert client.get(old).status_code == 410
    assert client.get(path_of(feed_address(link))).status_code == 200


def test_a_second_press_does_not_end_the_address_that_was_just_made(
    client: Client, crew: Crew
) -> None:
    link = make_link(crew=crew)
    step = f"/company/feeds/{link.public_id}/renew/"
    client.post(step, {"generation": 1})
    refused = client.post(step, {"generation": 1})
    assert refused.status_code == 409
    assert 'name="generation" value="2"' in refused.content.decode()
    link.refresh_from_db()
    assert link.generation == 2


def test_a_rendered_feed_does_not_make_a_page_stale(client: Client, crew: Crew) -> None:
    link = make_link(crew=crew)
    client.get(path_of(feed_address(link)))  # counts its renderings
    step = f"/company/feeds/{link.public_id}/"
    assert client.post(step, {"version": "1", "weeks": "4"}).status_code == 302
    assert client.post(f"{step}revoke/", {"generation": 1}).status_code == 302


def test_a_revoked_calendar_is_gone_until_there_is_a_new_address(
    client: Client, crew: Crew
) -> None:
    link = make_link(crew=crew)
    old = path_of(feed_address(link))
    step = f"/company/feeds/{link.public_id}/"
    client.post(f"{step}revoke/", {"generation": 1})
    assert client.get(old).status_code == 410
    text = page_text(client)
    assert "Revoked" in text
    assert old not in text
    client.post(f"{step}renew/", {"generation": 1})
    assert FeedLink.objects.get().revoked_at is None


def test_who_plans_makes_and_changes_calendars_but_ends_none(sign_in: SignIn, crew: Crew) -> None:
    link, page = make_link(crew=crew), make_page(crew=crew)
    planner = sign_in(crew.company, Role.PLANNER)
    assert feed_address(link) in page_text(planner)
    assert planner.get(f"/company/feeds/{link.public_id}/").status_code == 200
    for address in (
        f"/company/feeds/{link.public_id}/renew/",
        f"/company/crew-pages/{page.public_id}/revoke/",
    ):
        assert address not in page_text(planner)
        assert planner.get(address).status_code == 403
        assert planner.post(address, {"generation": 1}).status_code == 403
    assert FeedLink.objects.get().generation == 1


def test_another_companys_calendars_are_not_found(sign_in: SignIn, crew: Crew) -> None:
    link, page = make_link(crew=crew), make_page(crew=crew)
    house = make_house(crew.company)
    other = sign_in(make_company("Quay Finishing"))
    for path in (
        f"/company/feeds/{link.public_id}/",
        f"/company/feeds/{link.public_id}/renew/",
        f"/company/feeds/{link.public_id}/revoke/",
        f"/company/crew-pages/{page.public_id}/revoke/",
        f"/company/crews/{crew.public_id}/page/make/",
        f"/company/feeds/new/?of=crew:{crew.public_id}",
        f"/company/feeds/new/?of=house:{house.public_id}",
        "/company/feeds/new/?of=person:North crew 1",
    ):
        assert other.post(path, {"generation": 1, "version": 1}).status_code == 404
    assert FeedLink.objects.get().generation == 1
    assert crew.name not in other.get("/company/feeds/").content.decode()


def test_secrets_are_neither_kept_nor_logged(
    client: Client, crew: Crew, caplog: pytest.LogCaptureFixture
) -> None:
    link, page = make_link(crew=crew), make_page(crew=crew)
    with caplog.at_level("DEBUG"):
        response = client.get("/company/feeds/")
        client.post(f"/company/feeds/{link.public_id}/renew/", {"generation": 1})
    assert "no-store" in response["Cache-Control"]
    for address in (feed_address(link), page_address(page)):
        assert address.split("/")[4] not in caplog.text
