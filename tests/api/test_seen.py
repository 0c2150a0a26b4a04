"""A crew's word that it has seen the newest plan: once, without a cookie, seen by the office."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import Crew
from scheduling.models import FeedLink, Publication, SeenPublication
from scheduling.services.fetches import FETCHES
from scheduling.services.links import feed_address, make_page, page_address
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


@pytest.fixture
def crew() -> Crew:
    company = make_company()
    return make_crew(company)


@pytest.fixture
def path(crew: Crew) -> str:
    return page_address(make_page(crew=crew)).removeprefix("http://127.0.0.1:8000")


def publish(crew: Crew, days: int) -> None:
    house = make_house(crew.company, f"House {days}")
    start = timezone.now().replace(microsecond=0) + timedelta(days=days)
    make_plan(crew.company, [task(crew, house, start)])
    publish_plan(company=crew.company, now=timezone.now())


def seen(revision: str = "1") -> dict[str, str]:
    return {"action": "seen", "revision": revision, "visit": "", "sent_as": "seen-1"}


def test_nothing_is_asked_before_anything_is_published(client: Client, path: str) -> None:
    assert 'value="seen"' not in client.get(path).text
    assert client.post(path, seen()).status_code == 404


def test_a_tap_counts_once_without_any_cookie(crew: Crew, path: str) -> None:
    publish(crew, 3)
    client = Client(enforce_csrf_checks=True)
    assert 'value="seen"' in client.get(path).text
    for _ in range(3):
        client.cookies.clear()
        answer = client.post(path, seen())
        assert (answer.status_code, answer.headers["Location"]) == (302, path)
    row = SeenPublication.objects.get()
    assert (row.crew, row.publication) == (crew, Publication.objects.get())
    text = client.get(path).text
    assert "You have seen what the office published" in text
    assert 'value="seen"' not in text


def test_the_next_publication_is_asked_about_again(client: Client, crew: Crew, path: str) -> None:
    publish(crew, 3)
    client.post(path, seen())
    publish(crew, 4)
    assert 'name="revision" value="2"' in client.get(path).text
    client.post(path, seen("1"))  # a tap that comes late, of the page as it was
    assert 'name="revision" value="2"' in client.get(path).text


@pytest.mark.parametrize("revision", ["", "2", "-1", "x", "9" * 30, "1.0"])
def test_a_revision_that_there_is_not_is_refused(
    client: Client, crew: Crew, path: str, revision: str
) -> None:
    publish(crew, 3)
    assert client.post(path, seen(revision)).status_code == 404
    assert not SeenPublication.objects.exists()


def test_another_companys_revision_is_none(client: Client, crew: Crew, path: str) -> None:
    publish(make_crew(make_company("Quay Finishing")), 3)
    assert client.post(path, seen()).status_code == 404


def test_the_office_sees_it_today_and_beside_the_calendars(
    client: Client, sign_in: SignIn, crew: Crew, path: str
) -> None:
    other = make_crew(crew.company, "South crew")
    publish(crew, 3)
    client.post(path, seen())
    office = sign_in(crew.company)
    text = office.get("/").text
    assert "Not every crew has the plan published" in text
    assert "1 other crew has it" in text
    assert f"{other.name}: neither fetched nor confirmed yet" in text
    assert office.get("/company/feeds/").text.count("not confirmed") == 1
    feed = FeedLink.objects.get(crew=other)
    client.get(feed_address(feed).removeprefix("http://127.0.0.1:8000"))
    FETCHES.write()
    assert "Not every crew has the plan" not in office.get("/").text, "a calendar is enough"
