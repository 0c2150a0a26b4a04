"""Extra work that crews noted, as lines for the builder."""

import json
from html import unescape
from typing import Any
from uuid import UUID

import pytest
from django.test import Client

from finishing.models import BuilderLine, House, Role, User
from scheduling.models import ExtraWork
from tests.factories import local, make_company, make_crew, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company(currency="EUR"))


@pytest.fixture
def noted(house: House) -> ExtraWork:
    crew = make_crew(house.company)
    return ExtraWork.objects.create(
        company=house.company,
        crew=crew,
        house=house,
        at=local("2026-03-02 10:00"),
        what="Patched a hole",
        person_minutes=40,
    )


@pytest.fixture
def office(house: House) -> Client:
    client = Client()
    user = User.objects.create(company=house.company, email="p@example.com", role=Role.PLANNER)
    client.force_login(user)
    return client


def address(house: House) -> str:
    return f"/houses/{house.public_id}/extra-work/"


def text(client: Client, where: str) -> str:
    return unescape(client.get(where).content.decode())


def line(prefix: str, **more: Any) -> dict[str, Any]:
    usual = {"version": 0, "day": "2026-03-02", "text": "Patched a hole", "hours": "0.6667"}
    return {f"{prefix}-{name}": value for name, value in {**usual, **more}.items()}


def test_what_a_crew_noted_becomes_a_line_and_is_settled(
    office: Client, house: House, noted: ExtraWork
) -> None:
    """Forty minutes at 45.00 are 30.00."""
    page = text(office, address(house))
    assert "Noted by North crew: Patched a hole" in page
    assert 'value="0.6667"' in page
    assert (
        office.post(address(house), line(f"noted-{noted.public_id}", rate="45")).status_code == 302
    )
    (row,) = BuilderLine.objects.all()
    assert (row.person_minutes, row.rate, row.amount, row.agreed_on) == (40, 4500, 3000, None)
    noted.refresh_from_db()
    assert noted.builder_line == row
    assert noted.settled_by is not None
    sheet = text(office, f"{address(house)}sheet/")
    assert "30.00\N{NO-BREAK SPACE}EUR" in sheet
    assert "not yet" in sheet
    assert ">0:40<" in sheet


def test_a_long_line_saved_as_it_is_shown_stays_as_it_was(office: Client, house: House) -> None:
    """123 hours and 20 minutes, of which a builder can reckon the amount."""
    new = line("new-1", rate="50", hours="123.3333")
    assert office.post(address(house), new).status_code == 302
    row = BuilderLine.objects.get()
    assert row.person_minutes == 7400
    assert 'value="123.3333"' in text(office, address(house))
    assert ">123:20<" in text(office, f"{address(house)}sheet/")


def test_left_as_it_is_shown_it_stays_noted(office: Client, house: House, noted: ExtraWork) -> None:
    prefix = f"noted-{noted.public_id}"
    shown = line(prefix)
    initial = {f"initial-{name}": value for name, value in shown.items() if "version" not in name}
    assert office.post(address(house), {**shown, **initial}).status_code == 302
    assert not BuilderLine.objects.exists()
    noted.refresh_from_db()
    assert noted.settled_at is None


def test_a_line_of_the_offices_own_agreed_later(office: Client, house: House) -> None:
    assert office.post(address(house), line("new-1", rate="50", hours="2")).status_code == 302
    (row,) = BuilderLine.objects.all()
    agreed = {"agreed_on": "2026-03-05", "agreed_with": "Site manager"}
    prefix = f"line-{row.public_id}"
    sent = line(prefix, rate="50", hours="2", version=row.version, **agreed)
    assert office.post(address(house), sent).status_code == 302
    sheet = text(office, f"{address(house)}sheet/")
    assert "Thu 5 Mar, Site manager" in sheet
    row.refresh_from_db()
    gone = line(prefix, rate="50", hours="2", version=row.version, remove="on", **agreed)
    assert office.post(address(house), gone).status_code == 302
    assert not BuilderLine.objects.exists()


def test_all_that_is_missing_is_said_at_once(office: Client, house: House) -> None:
    sent = {"new-1-version": 0, "new-1-agreed_with": "Somebody"}
    response = office.post(address(house), sent)
    assert response.status_code == 422
    page = unescape(response.content.decode())
    for said in ("Choose the day.", "Say what was done.", "Say how many hours."):
        assert said in page


def test_who_only_reads_does_not_see_what_it_costs(house: House) -> None:
    client = Client()
    user = User.objects.create(company=house.company, email="v@example.com", role=Role.VIEWER)
    client.force_login(user)
    assert client.get(address(house)).status_code == 403
    assert client.get(f"{address(house)}sheet/").status_code == 403
    assert client.get("/api/v1/builder-lines/").status_code == 403


def test_over_the_api(office: Client, house: House, noted: ExtraWork) -> None:
    body = {
        "house": str(house.public_id),
        "extra_work": str(noted.public_id),
        "day": "2026-03-02",
        "text": "Patched",
        "person_minutes": 40,
        "rate_minor": 4500,
    }

    def sent() -> tuple[int, dict[str, Any]]:
        answer = office.post(
            "/api/v1/builder-lines/", json.dumps(body), content_type="application/json"
        )
        return answer.status_code, answer.json()

    status, made = sent()
    assert (status, made["amount_minor"]) == (201, 3000)
    noted.refresh_from_db()
    assert noted.builder_line is not None
    assert noted.builder_line.public_id == UUID(made["id"])
    assert sent()[0] == 422
    body["house"] = str(make_house(house.company, "Yard House").public_id)
    assert sent()[0] == 422


def test_queries(
    office: Client, house: House, noted: ExtraWork, django_assert_max_num_queries: Any
) -> None:
    assert noted.house == house
    for where in (address(house), f"{address(house)}sheet/"):
        with django_assert_max_num_queries(15):
            office.get(where)
