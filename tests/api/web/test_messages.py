"""Messages to copy: a crew's next day, a house's coats for its builder."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from api.web.messages import messages_page
from finishing.models import Company, Crew
from scheduling.models import CrewPage, FeedLink
from scheduling.services.links import make_link, make_page, page_address, revoke_link
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
SUNDAY = datetime(2026, 3, 1, 18, tzinfo=UTC)


@pytest.fixture
def company() -> Company:
    company = make_company()
    crew = make_crew(company)
    house = make_house(company, rooms=("Hall", "Kitchen"), address="1 Mill Lane")
    make_plan(
        company,
        [
            task(crew, house, "2026-03-03 08:00", room="Hall"),
            task(crew, house, "2026-03-03 10:00", room="Kitchen"),
        ],
        handovers=[
            {
                "house_id": str(house.public_id),
                "house": house.name,
                "areas": [],
                "due_on": "2026-03-27",
                "met_at": "2026-03-20T12:00:00+00:00",
                "state": "met",
                "late_minutes": 0,
                "weight": 1,
            }
        ],
    )
    publish_plan(company=company, now=SUNDAY)
    make_link(crew=crew)
    make_page(crew=crew)
    return company


def crew_of(company: Company) -> Crew:
    return Crew.objects.get(company=company)


def texts(company: Company, now: datetime = SUNDAY) -> tuple[str, str]:
    page = messages_page(company, "en", now)
    return page.crews[0].text, page.houses[0].text


def test_a_crew_is_told_its_next_day_with_the_address_of_its_page(company: Company) -> None:
    text, _ = texts(company)
    assert text.splitlines() == [
        "North crew, Tue 3 Mar:",
        "08:00\N{EN DASH}12:00 Mill Cottage, 1 Mill Lane: Tape coat (Ground floor)",
        f"All of it: {page_address(CrewPage.objects.get())}",
    ]


def test_a_crew_without_work_is_told_so(company: Company) -> None:
    text, _ = texts(company, local("2026-03-03 18:00"))
    assert text.splitlines()[:2] == ["North crew, Wed 4 Mar:", "no visit is planned."]


def test_a_builder_is_told_coats_what_not_to_touch_and_the_handover(company: Company) -> None:
    _, text = texts(company)
    assert text.splitlines() == [
        "Mill Cottage:",
        "Tue 3 Mar: Tape coat (Ground floor)",
        "Do not touch the coats, and keep heat and air as they are:",
        "Ground floor (Hall, Kitchen): not before Wed 4 Mar 12:00 (Tape coat, planned dry then)",
        "Handover: due Fri 27 Mar, ready Fri 20 Mar 12:00",
    ]


def test_an_ended_page_is_in_no_message(company: Company) -> None:
    revoke_link(link=CrewPage.objects.get(), now=SUNDAY)
    assert texts(company)[0] == ""


def test_the_page_has_a_text_to_select_for_each(company: Company, sign_in: SignIn) -> None:
    text = sign_in(company).get("/messages/").text
    assert len(re.findall(r"<textarea readonly", text)) == 1, "of the crew; the visits are long ago"
    assert "no visit is planned." in text


def test_a_crew_is_given_its_language_and_units(company: Company, sign_in: SignIn) -> None:
    crew = crew_of(company)
    FeedLink.objects.update(rendered_on=SUNDAY.date())
    path = f"/messages/crews/{crew.public_id}/"
    client = sign_in(company)
    typed = {"version": crew.version, "language": "es", "units": "imperial"}
    client.post(path, typed)
    crew.refresh_from_db()
    assert (crew.language, crew.units) == ("es", "imperial")
    assert FeedLink.objects.get().rendered_on is None, "its calendar is made again"
    assert client.post(path, {"language": "xx"}).status_code == 404
    stale = client.post(path, {**typed, "language": "en"})
    assert stale.status_code == 409
    assert "Somebody else changed this" in stale.text
    assert crew_of(company).language == "es"


def test_another_company_sees_and_sets_nothing(company: Company, sign_in: SignIn) -> None:
    stranger = sign_in(make_company("Other"))
    assert "Mill Cottage" not in stranger.get("/messages/").text
    path = f"/messages/crews/{crew_of(company).public_id}/"
    assert stranger.post(path, {"language": "es"}).status_code == 404
    assert Client().get("/messages/").status_code == 302, "to the sign-in"
    assert crew_of(company).language == "en"


def test_the_page_takes_as_many_queries_however_many_crews_and_houses(
    company: Company, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(6):
        messages_page(company, "en", SUNDAY)
    for number in range(4):
        crew = make_crew(company, f"Crew {number}")
        make_link(crew=crew)
        make_page(crew=crew)
        house = make_house(company, f"House {number}")
        make_plan(company, [task(crew, house, local("2026-03-04 08:00") + timedelta(days=number))])
        publish_plan(company=company, now=SUNDAY + timedelta(seconds=number + 1))
    with django_assert_max_num_queries(6):
        assert len(messages_page(company, "en", SUNDAY).crews) == 5


def test_messages_are_in_the_crews_and_the_builders_language(company: Company) -> None:
    Crew.objects.update(language="es")
    page = messages_page(company, "es", SUNDAY)
    assert "Mano de encintado (Ground floor)" in page.crews[0].text
    assert "Entrega: prometida para" in page.houses[0].text
    assert "Hand" not in page.houses[0].text
