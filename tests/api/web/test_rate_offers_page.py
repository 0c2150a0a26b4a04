"""The rates page beside what crews' reports say; the same over the API."""

import json
import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.utils import timezone

from finishing.models import Company, LabourRate, Role, User
from scheduling.models import DeclinedRates, Visit
from tests.plans import published_from
from tests.reported import copied, worked
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def company() -> Company:
    """Five visits of the last weeks took half as long again as their rates say."""
    company, _ = make_site(system="All-purpose drying")
    published_from(company, MONDAY)
    visit = Visit.objects.select_related("crew__company", "house").earliest("starts_at")
    weeks = (timezone.now() - visit.starts_at) // timedelta(weeks=1)
    for number in range(5):
        row = copied(visit, timedelta(weeks=weeks - number))
        planned = sum(task["person_minutes"] for task in row.content["tasks"])
        worked(row, round(1.5 * planned / 2))
    return company


def office(company: Company, role: Role = Role.PLANNER) -> Client:
    client = Client()
    email = f"{role}@example.com"
    client.force_login(User.objects.create(company=company, email=email, role=role))
    return client


def shown(client: Client) -> str:
    return unescape(client.get("/company/rates/").content.decode())


def seen_as(page: str) -> str:
    found = re.search(r'name="seen_as" value="([^"]+)"', page)
    assert found
    return found[1]


def test_the_page_says_from_how_many_jobs_and_what_would_change(company: Company) -> None:
    page = shown(office(company))
    assert re.search(r"1(49|50|51) %, between 1(49|50|51) and 1(49|50|51) % in 9 of 10", page)
    assert "minutes per m" in page
    assert not LabourRate.objects.exists()


def test_taking_and_declining(company: Company) -> None:
    client = office(company)
    said = {"seen_as": seen_as(shown(client))}
    assert client.post("/company/rates/tape/decline/", said).status_code == 302
    page = shown(client)
    assert "you are asked again from 10 jobs on" in page
    assert "Keep the present rates" not in page
    assert client.post("/company/rates/tape/take/", said).status_code == 302
    assert LabourRate.objects.filter(company=company, stage="tape").exists()
    assert not DeclinedRates.objects.exists()
    assert "nothing to change" in shown(client)


def test_what_is_not_offered_like_that_changes_nothing_and_says_so(company: Company) -> None:
    response = office(company).post("/company/rates/tape/take/", {"seen_as": "9-9.0"})
    assert response.status_code == 409
    assert "nothing was changed" in response.content.decode()
    assert not LabourRate.objects.exists()


def test_who_only_reads_is_not_asked(company: Company) -> None:
    page = shown(office(company, Role.VIEWER))
    assert "in 9 of 10" in page
    assert "seen_as" not in page


def test_without_reports_the_page_says_what_belongs_there(db: None) -> None:
    company, _ = make_site()
    assert "Once crews have reported five jobs" in shown(office(company))


def test_over_the_api(company: Company) -> None:
    client = office(company)
    (offer,) = client.get("/api/v1/rate-offers/").json()["offers"]
    assert (offer["stage"], offer["jobs"], offer["is_open"]) == ("tape", 5, True)
    assert offer["factor"] == pytest.approx(1.5, rel=0.01)
    sent = {"stage": "tape", "seen_as": offer["seen_as"], "answer": "decline"}

    def answered() -> dict[str, object]:
        response = client.post(
            "/api/v1/rate-offers/", json.dumps(sent), content_type="application/json"
        )
        return {"status": response.status_code, **response.json()}

    declined = answered()
    assert declined["status"] == 200
    assert declined["offers"][0]["declined_at"]  # type: ignore[index]
    sent["answer"] = "take"
    assert answered()["status"] == 200
    refused = answered()
    assert (refused["status"], refused["reason"]) == (409, "another_offer")
