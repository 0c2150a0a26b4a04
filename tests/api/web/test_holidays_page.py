"""The page of the days on which no crew works."""

from datetime import date, time, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, ExtraHours, Holiday
from scheduling.models import Visit
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
PAGE = "/company/holidays/"


@pytest.fixture(autouse=True)
def _now(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)


@pytest.fixture
def company(db: None) -> Company:
    return make_company(country="IE")


@pytest.fixture
def client(sign_in: SignIn, company: Company) -> Client:
    return sign_in(company)


def holiday(company: Company, day: int, name: str = "Fair") -> Holiday:
    return Holiday.objects.create(company=company, day=date(2026, 3, day), name=name)


def line(place: str, day: str, name: str, **more: Any) -> dict[str, Any]:
    sent = {"version": 0, "day": day, "name": name, **more}
    return {f"{place}-{field}": value for field, value in sent.items()}


def test_days_are_fetched_and_own_ones_stay(client: Client) -> None:
    client.post(PAGE, line("new-1", "2026-08-10", "Summer break"))
    assert client.post(PAGE + "fetch/").status_code == 302
    fetched = Holiday.objects.filter(is_own=False)
    assert {row.day.year for row in fetched} == {2026, 2027}
    patrick = fetched.get(day=date(2026, 3, 17))
    renamed = line(f"day-{patrick.public_id}", "2026-03-17", "Parade", version=1)
    assert client.post(PAGE, renamed).status_code == 302
    client.post(PAGE + "fetch/")
    own = Holiday.objects.filter(is_own=True)
    assert [row.name for row in own] == ["Parade", "Summer break"]
    assert "do not know of this" in client.get(PAGE + "?saved=yes").text


def test_days_are_swapped_and_removed(client: Client, company: Company) -> None:
    one, other, gone = holiday(company, 9, "A"), holiday(company, 10, "B"), holiday(company, 11)
    sent = line(f"day-{one.public_id}", "2026-03-10", "A", version=1)
    sent |= line(f"day-{other.public_id}", "2026-03-09", "B", version=1)
    sent |= line(f"day-{gone.public_id}", "2026-03-11", "Fair", version=1, remove="on")
    assert client.post(PAGE, sent).status_code == 302
    assert [(row.day.day, row.name) for row in Holiday.objects.all()] == [(9, "B"), (10, "A")]


def test_all_faults_are_shown_at_once(client: Client, company: Company) -> None:
    holiday(company, 9)
    sent = line("new-1", "2026-03-09", "Course") | line("new-2", "", "Break")
    response = client.post(PAGE, sent)
    assert response.status_code == 422
    assert "#id_new-2-day" in response.text
    both = client.post(PAGE, line("new-1", "2026-03-09", "Course"))
    assert "Fair is on that day already" in both.text
    assert 'value="Course"' in both.text
    assert Holiday.objects.count() == 1


def test_a_day_from_a_second_tab_is_refused_and_kept(client: Client, company: Company) -> None:
    row = holiday(company, 9)
    place = f"day-{row.public_id}"
    client.post(PAGE, line(place, "2026-03-09", "Market", version=1))
    stale = client.post(PAGE, line(place, "2026-03-09", "Parade", version=1))
    assert stale.status_code == 409
    assert "Mon 9 Mar: Market" in stale.text
    assert 'value="Parade"' in stale.text


def test_a_visit_on_a_holiday_is_named_unless_the_crew_works_extra(
    client: Client, company: Company
) -> None:
    crew, starts = make_crew(company), MONDAY + timedelta(days=7, hours=8)
    Visit.objects.create(
        company=company,
        crew=crew,
        house=make_house(company),
        uid=crew.public_id,
        starts_at=starts,
        ends_at=starts + timedelta(hours=2),
        created_at=MONDAY,
        modified_at=MONDAY,
    )
    assert "Mill Cottage" not in client.get(PAGE).text
    holiday(company, 9)
    assert "Fair: North crew at Mill Cottage" in client.get(PAGE).text
    day = {"day": date(2026, 3, 9), "start": time(8), "end": time(12)}
    ExtraHours.objects.create(company=company, crew=crew, **day)
    assert "Mill Cottage" not in client.get(PAGE).text


def test_another_company_sees_and_changes_none(sign_in: SignIn, company: Company) -> None:
    row = holiday(company, 9)
    stranger = sign_in(make_company("Other"))
    assert "Fair" not in stranger.get(PAGE).text
    sent = line(f"day-{row.public_id}", "2026-03-10", "Mine", version=1)
    assert stranger.post(PAGE, sent).status_code == 409
    row.refresh_from_db()
    assert row.name == "Fair"


def test_the_page_takes_few_queries(
    client: Client, company: Company, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for day in range(3, 30):
        holiday(company, day)
    with django_assert_max_num_queries(15):
        client.get(PAGE)
