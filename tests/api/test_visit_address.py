"""The address of a visit that calendar entries hold: for whom it opens, and where it leads."""

import re
from datetime import timedelta
from uuid import UUID

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import Crew, Role
from scheduling.models import Visit
from scheduling.services.feeds import feed_body
from scheduling.services.links import (
    blank_link,
    make_page,
    page_address,
    renew_link,
    revoke_link,
)
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

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
def path(crew: Crew) -> str:
    return f"/v/{Visit.objects.get().public_id}/"


def page_path(crew: Crew) -> str:
    return page_address(make_page(crew=crew)).removeprefix("http://127.0.0.1:8000")


def test_calendar_entries_hold_it_and_no_secret(crew: Crew, path: str) -> None:
    link = blank_link(company=crew.company, crew=crew)
    text = feed_body(link=link, today=timezone.now().date()).decode().replace("\r\n ", "")
    assert f"URL:http://127.0.0.1:8000{path}" in text.splitlines()
    assert not re.search(r"[\w-]{43}", text), "as long as a secret"


def test_it_opens_on_a_phone_that_has_used_the_crews_page(
    client: Client, crew: Crew, path: str
) -> None:
    client.get(page_path(crew))
    answer = client.get(path)
    visit = Visit.objects.get()
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith(page_path(crew) + "20")
    assert answer.headers["Location"].endswith(f"/#visit-{visit.public_id}")
    assert "no-store" in answer.headers["Cache-Control"]
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert f'id="visit-{visit.public_id}"' in client.get(path, follow=True).text


def test_a_cookie_opens_nothing_but_its_own_crews_visits(
    client: Client, crew: Crew, path: str
) -> None:
    other = make_crew(crew.company, "South crew")
    client.get(page_path(other))
    assert client.get(path).status_code == 403
    (cookie,) = client.cookies.values()
    assert (cookie["path"], cookie["httponly"], cookie["samesite"]) == ("/v/", True, "Lax")
    client.cookies[f"crew-{crew.public_id.hex}"] = cookie.value  # signed for another crew
    assert client.get(path).status_code == 403


@pytest.mark.parametrize("renewed", [True, False])
def test_it_closes_when_the_page_has_ended(
    client: Client, crew: Crew, path: str, renewed: bool
) -> None:
    client.get(page_path(crew))
    page = make_page(crew=crew)
    if renewed:
        renew_link(link=page)
    else:
        revoke_link(link=page, now=timezone.now())
    assert client.get(path).status_code == 403


@pytest.mark.parametrize("language", ["en", "es"])
def test_anybody_else_is_told_how_to_get_in(
    client: Client, crew: Crew, path: str, language: str
) -> None:
    Crew.objects.update(language=language)
    answer = client.get(path)
    assert answer.status_code == 403
    said = {"en": "page once on this phone", "es": "Abre una vez en este teléfono"}
    assert said[language] in answer.text
    assert f"/sign-in/?next={path}" in answer.text
    assert "Mill Cottage" not in answer.text


def test_whether_there_is_such_a_visit_is_nobodys_business(client: Client, path: str) -> None:
    assert client.get(f"/v/{UUID(int=7)}/").text == client.get(path).text.replace(
        path, f"/v/{UUID(int=7)}/"
    )


@pytest.mark.parametrize("role", Role)
def test_the_company_is_led_to_the_house(
    sign_in: SignIn, crew: Crew, path: str, role: Role
) -> None:
    answer = sign_in(crew.company, role).get(path)
    assert answer.headers["Location"] == f"/houses/{Visit.objects.get().house.public_id}/"


def test_another_company_finds_nothing(sign_in: SignIn, path: str) -> None:
    assert sign_in(make_company("Quay Finishing")).get(path).status_code == 404
    assert sign_in(None).get(path).status_code == 404
    assert sign_in(make_company("Weir Finishing")).get(f"/v/{UUID(int=7)}/").status_code == 404


def test_a_cancelled_visit_leads_to_its_day(client: Client, crew: Crew, path: str) -> None:
    client.get(page_path(crew))
    Visit.objects.update(cancelled_at=timezone.now())
    assert "#" not in client.get(path).headers["Location"]
    assert client.get(path, follow=True).status_code == 200
