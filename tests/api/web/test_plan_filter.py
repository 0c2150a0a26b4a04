"""What pages of weeks show: by crew, by house, late only; and what they say of anything else."""

from collections.abc import Iterator
from datetime import date
from uuid import uuid4

import pytest
from django.test import Client

from finishing.models import Company, Crew, House
from scheduling.models import Plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
PAGES = ("/week/2026-03-02/", "/houses/weeks/2026-03-02/")


def late(house: House) -> dict[str, object]:
    return {
        "house": house.name,
        "house_id": str(house.public_id),
        "areas": ["Ground floor"],
        "due_on": "2026-03-03",
        "state": "planned",
        "met_at": "2026-03-05T10:00:00+00:00",
        "late_minutes": 600,
    }


class Town:
    """Two crews and two houses, each crew at its own; Elm House is late."""

    def __init__(self, name: str = "Test Finishing") -> None:
        self.company: Company = make_company(name)
        self.north: Crew = make_crew(self.company, "North crew")
        self.south: Crew = make_crew(self.company, "South crew")
        self.mill: House = make_house(self.company, "Mill Cottage")
        self.elm: House = make_house(self.company, "Elm House")
        self.plan: Plan = make_plan(
            self.company,
            [
                task(self.north, self.mill, "2026-03-02 08:00"),
                task(self.south, self.elm, "2026-03-03 08:00"),
            ],
            handovers=[late(self.elm)],
        )


@pytest.fixture
def town(db: None) -> Town:
    return Town()


def drawn(client: Client, address: str) -> Iterator[str]:
    """Yield the houses that are drawn."""
    response = client.get(address)
    assert response.status_code == 200
    main = response.content.decode().partition("</form>")[2].partition("</form>")[2]
    return (name for name in ("Mill Cottage", "Elm House") if name in main)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_shows_one_crew_one_house_or_what_is_late(
    sign_in: SignIn, town: Town, page: str
) -> None:
    client = sign_in(town.company)
    assert list(drawn(client, page)) == ["Mill Cottage", "Elm House"]
    assert list(drawn(client, f"{page}?crew={town.north.public_id}")) == ["Mill Cottage"]
    assert list(drawn(client, f"{page}?house={town.elm.public_id}")) == ["Elm House"]
    assert list(drawn(client, f"{page}?late=1")) == ["Elm House"]
    assert list(drawn(client, f"{page}?crew={town.north.public_id}&late=1")) == []
    assert list(drawn(client, f"{page}?crew=&house=&late=")) == ["Mill Cottage", "Elm House"]


@pytest.mark.parametrize("page", PAGES)
def test_a_choice_is_kept_when_stepping_through_weeks(
    sign_in: SignIn, town: Town, page: str
) -> None:
    kept = f"?crew={town.north.public_id}&amp;house={town.mill.public_id}&amp;late=1&amp;weeks=2"
    text = sign_in(town.company).get(page + kept.replace("&amp;", "&")).text
    for rel in ("prev", "next"):
        href = text.partition(f'rel="{rel}" href="')[2].partition('"')[0]
        assert href.endswith(kept)
    assert text.count(" selected>") == (3 if "houses" in page else 2)


@pytest.mark.parametrize("page", PAGES)
def test_what_is_not_there_is_said_all_at_once_and_everything_is_shown(
    sign_in: SignIn, town: Town, page: str
) -> None:
    client = sign_in(town.company)
    response = client.get(f"{page}?crew=\x00&house={uuid4()}&late=yes&weeks=1e9")
    assert response.status_code == 400
    for said in ("crew: there is no", "house: there is no", "late: only 1", "weeks: may be"):
        assert said in response.text
    assert "Mill Cottage" in response.text


@pytest.mark.parametrize("page", PAGES)
def test_another_companys_crew_and_house_are_as_if_they_were_not(
    sign_in: SignIn, town: Town, page: str
) -> None:
    stranger = sign_in(Town("Other Finishing").company)
    unknown = stranger.get(f"{page}?crew={uuid4()}&house={uuid4()}")
    known = stranger.get(f"{page}?crew={town.north.public_id}&house={town.mill.public_id}")
    assert known.status_code == unknown.status_code == 400
    assert str(town.mill.public_id) not in known.text


def test_late_only_keeps_to_the_days_asked_for(sign_in: SignIn, town: Town) -> None:
    page = sign_in(town.company).get("/houses/weeks/2026-03-04/?late=1").context["page"]
    assert (page.first, page.last) == (date(2026, 3, 2), date(2026, 3, 29))
    assert [row.house for row in page.rows] == [town.elm]
    assert page.hidden == 0
