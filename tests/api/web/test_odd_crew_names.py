"""A crew given a name that means something to calendar programs, or hours of no zone."""

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import Crew
from scheduling.models import FeedLink
from scheduling.services.links import feed_address
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.api.web.test_company_crew import facts, page_of
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)


def test_a_crew_renamed_to_what_begins_an_entry_begins_none(sign_in: SignIn) -> None:
    crew = make_crew(make_company())
    make_plan(crew.company, [task(crew, make_house(crew.company), "2026-03-02 08:00")])
    publish_plan(company=crew.company, now=MONDAY)
    client = sign_in(crew.company)
    assert client.post(page_of(crew, "facts"), facts(crew, name="BEGIN:VEVENT")).status_code == 302
    assert "BEGIN:VEVENT" in client.get("/company/crews/").text
    address = feed_address(FeedLink.objects.get(crew=crew)).partition(":8000")[2]
    lines = Client().get(address).content.decode().split("\r\n")
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"name": "North\r\nBEGIN:VEVENT"}, "A name is one line"),
        ({"name": "North\x07crew"}, "A name is one line"),
        ({"zone": "Mars/Olympus"}, "This is not a time zone: write one like Europe/Dublin"),
        ({"zone": "../../etc/passwd"}, "This is not a time zone"),
    ],
)
def test_what_cannot_be_a_crew_is_said_and_nothing_is_stored(
    sign_in: SignIn, typed: dict[str, str], said: str
) -> None:
    crew = make_crew(make_company())
    before = Crew.objects.values().get()
    refused = sign_in(crew.company).post(page_of(crew, "facts"), facts(crew, **typed))
    assert refused.status_code == 422
    assert said in refused.text
    assert Crew.objects.values().get() == before
