"""Pay as the office edits, prints and takes it away; the same over the API."""

import json
from html import unescape
from typing import Any

import pytest
from django.test import Client

from finishing.models import Company, Crew, PayTerm, Role, User
from scheduling.models import ExtraWork, Visit
from tests.factories import make_company, make_crew, make_house
from tests.reported import worked
from tests.scheduling.services.test_pay_sheet import agree, visit

pytestmark = pytest.mark.django_db
WEEK = "first=2026-03-02&last=2026-03-08"


@pytest.fixture
def crew() -> Crew:
    company = make_company(currency="EUR")
    crew = make_crew(company, heads=2)
    agree(company, crew=crew, amount=2000)
    worked(visit(crew, make_house(company, "=House"), "2026-03-02"), 90)
    return crew


def signed_in(company: Company, role: Role) -> Client:
    client = Client()
    email = f"{role}@example.com"
    client.force_login(User.objects.create(company=company, email=email, role=role))
    return client


def text(client: Client, address: str) -> str:
    return unescape(client.get(address).content.decode())


def test_the_sheet_has_each_visit_and_sums(crew: Crew) -> None:
    page = text(signed_in(crew.company, Role.PLANNER), f"/company/pay/{crew.public_id}/?{WEEK}")
    assert "North crew 1, 1.50 h: 30.00\N{NO-BREAK SPACE}EUR" in page
    assert "<b>60.00\N{NO-BREAK SPACE}EUR</b>" in page


def test_the_file_is_harmless(crew: Crew) -> None:
    client = signed_in(crew.company, Role.OWNER)
    lines = text(client, f"/company/pay/{crew.public_id}/file.csv?{WEEK}").splitlines()
    assert lines[1].startswith("2026-03-02,'=House,")
    assert "North crew 1,1.5,30.00," in lines[1]


def test_extra_work_whose_visit_is_gone_is_listed_everywhere(crew: Crew) -> None:
    row = Visit.objects.get(crew=crew)
    noted = {"at": row.starts_at, "what": "=Loft hatch", "person_minutes": 90}
    ExtraWork.objects.create(company=crew.company, crew=crew, house=row.house, **noted)
    client = signed_in(crew.company, Role.PLANNER)
    own = f"/company/pay/{crew.public_id}/"
    assert "not paid: extra work whose visit is gone" in text(client, f"{own}?{WEEK}")
    last = text(client, f"{own}file.csv?{WEEK}").splitlines()[-1]
    assert last.startswith("2026-03-02,'=House,'=Loft hatch,,1.5,,not paid")
    (said,) = client.get(f"/api/v1/crews/{crew.public_id}/pay/?{WEEK}").json()["without_visit"]
    assert (said["what"], said["person_minutes"]) == ("=Loft hatch", 90)


@pytest.mark.parametrize("role", [Role.VIEWER, Role.CREW_LEAD])
def test_nobody_else_sees_it(crew: Crew, role: Role) -> None:
    client = signed_in(crew.company, role)
    own = f"{crew.public_id}/"
    for address in ("/company/pay/", f"/company/pay/{own}", f"/company/pay/{own}file.csv"):
        assert client.get(address).status_code == 403
    assert client.get(f"/api/v1/crews/{own}pay/").status_code == 403
    assert "company/pay" not in text(client, "/company/")


def test_a_period_that_is_none_says_so(crew: Crew) -> None:
    client = signed_in(crew.company, Role.PLANNER)
    address = f"/company/pay/{crew.public_id}/?first=2026-03-08&last=2026-02-30"
    response = client.get(address)
    assert response.status_code == 422
    assert "Choose a first and a last day" in response.content.decode()


def test_agreements_are_added_changed_and_removed(crew: Crew) -> None:
    client = signed_in(crew.company, Role.PLANNER)
    blank = {"new-1-version": 0, "new-1-amount": "12.50", "new-1-since": "2026-03-01"}
    added = client.post("/company/pay/", {**blank, "new-1-person": "Ann", "new-1-stage": ""})
    assert added.status_code == 302
    row = PayTerm.objects.get(person="Ann")
    assert row.amount == 1250
    prefix = f"pay-{row.public_id}"
    sent: dict[str, Any] = {f"{prefix}-version": row.version, f"{prefix}-person": "Ann"}
    sent |= {f"{prefix}-amount": "13", f"{prefix}-since": "2026-03-01"}
    assert client.post("/company/pay/", sent).status_code == 302
    row.refresh_from_db()
    assert row.amount == 1300
    sent |= {f"{prefix}-version": row.version, f"{prefix}-remove": "on"}
    assert client.post("/company/pay/", sent).status_code == 302
    assert not PayTerm.objects.filter(person="Ann").exists()


def test_agreements_are_short_lines_and_only_what_is_wrong_is_unfolded(crew: Crew) -> None:
    client = signed_in(crew.company, Role.PLANNER)
    page = text(client, "/company/pay/")
    assert page.count('<details class="folded">') == 1 + 2  # and two to add
    assert '<span class="figure">20.00\N{NO-BREAK SPACE}EUR from' in page
    row = PayTerm.objects.get()
    sent: dict[str, Any] = {
        f"pay-{row.public_id}-{name}": "" for name in ("person", "stage", "since")
    }
    sent |= {f"pay-{row.public_id}-version": row.version, f"pay-{row.public_id}-amount": "much"}
    refused = client.post("/company/pay/", {**sent, "new-1-version": 0, "new-2-version": 0})
    assert refused.status_code == 422
    page = refused.content.decode()
    assert page.count('<details class="folded" open>') == 1
    opened = page[page.index('<details class="folded" open>') :].partition("</details>")[0]
    assert "This is no amount" in opened
    assert "much" in opened


def test_an_agreement_of_nobody_is_refused_in_words(crew: Crew) -> None:
    client = signed_in(crew.company, Role.PLANNER)
    sent = {"new-1-version": 0, "new-1-amount": "12", "new-1-since": "2026-03-01"}
    response = client.post("/company/pay/", sent)
    assert response.status_code == 422
    assert "Choose a crew, or else name a person." in response.content.decode()


def test_over_the_api(crew: Crew) -> None:
    client = signed_in(crew.company, Role.PLANNER)
    body = client.get(f"/api/v1/crews/{crew.public_id}/pay/?{WEEK}").json()
    assert (body["total_minor"], body["by_payee_minor"]["North crew 2"]) == (6000, 3000)
    sent = json.dumps({"person": "Ann", "amount_minor": 1500, "since": "2026-03-01"})
    made = client.post("/api/v1/pay-terms/", sent, content_type="application/json")
    assert (made.status_code, made.json()["stage"]) == (201, "")
    again = client.post("/api/v1/pay-terms/", sent, content_type="application/json")
    assert again.status_code == 422


def test_queries(crew: Crew, django_assert_max_num_queries: Any) -> None:
    client = signed_in(crew.company, Role.PLANNER)
    for address in ("/company/pay/", f"/company/pay/{crew.public_id}/?{WEEK}"):
        with django_assert_max_num_queries(15):
            client.get(address)
