"""The pages that look back, their files, and the same over the API."""

from datetime import UTC, date, datetime, timedelta
from html import unescape
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from django.test import Client
from django.utils import timezone

from api.web.column_charts import Column, Part, column_chart
from api.web.forecast_record import record_cells
from api.web.time_charts import Words
from finishing.models import AirDay, AirSource, Company, House, Role, User
from finishing.rules.forecast_errors import LeadError
from finishing.services.air import Reading
from finishing.services.forecast_issues import keep_issue
from tests.factories import make_company, make_crew, make_house
from tests.reported import worked
from tests.scheduling.services.test_looking_back import visit

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def company() -> Company:
    """Two visits of a house with a name that is a formula, a week apart, a month ago."""
    company = make_company()
    crew, house = make_crew(company), make_house(company, "=1+1 House")
    monday = timezone.now().date() - timedelta(days=28 + timezone.now().weekday())
    worked(visit(crew, house, str(monday)), 240)
    ready = f"{monday + timedelta(days=2)} 15:00"
    worked(visit(crew, house, str(monday + timedelta(days=7)), ready_at=ready), 240)
    return company


@pytest.fixture
def office(company: Company, client: Client) -> Client:
    user = User.objects.create(company=company, email="p@example.com", role=Role.PLANNER)
    client.force_login(user)
    return client


def text(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode())


def test_days_lost_are_a_chart_and_a_table(office: Client) -> None:
    page = text(office, "/looking-back/")
    assert "=1+1 House" in page
    assert "waiting for others" in page
    assert 'data-label="Lost to drying">2<' in page


def test_the_file_of_days_is_harmless(office: Client) -> None:
    lines = text(office, "/looking-back/files/days.csv?months=3").splitlines()
    assert lines[0].endswith("Coats looked at,Found not dry")
    assert lines[1].startswith("'=1+1 House,")
    assert "After the predicted hour" in text(office, "/looking-back/files/waits.csv")
    assert office.get("/looking-back/files/other.csv").status_code == 404


def test_of_one_house_and_of_none_there_is(office: Client, company: Company) -> None:
    other = make_house(company, "Yard House")
    page = text(office, f"/looking-back/?months=3&house={other.public_id}")
    assert "Once published visits are over" in page
    assert "=1+1 House</th>" in text(office, "/looking-back/?months=x")


@pytest.mark.parametrize("page", ["", "files/days.csv", "files/waits.csv"])
def test_a_house_that_the_company_has_not_is_none(office: Client, page: str) -> None:
    """Else the figures of all houses would stand for those of the one that was meant."""
    theirs = make_house(make_company("Theirs"), "Their House").public_id
    for house in (theirs, "y"):
        assert office.get(f"/looking-back/{page}?house={house}").status_code == 404


def test_an_empty_company_is_told_what_belongs_there(client: Client) -> None:
    user = User.objects.create(company=make_company("New"), email="n@example.com", role=Role.OWNER)
    client.force_login(user)
    page = text(client, "/looking-back/")
    assert "Once published visits are over" in page
    assert "From now on the first forecast" in text(client, "/looking-back/forecasts/")


def test_forecasts_beside_what_came(office: Client, company: Company) -> None:
    made_at = datetime.now(UTC) - timedelta(days=3)
    source = AirSource.objects.create(
        company=company, name="Forecast 53, -6", kind="forecast", latitude=53, longitude=-6
    )
    first = made_at.replace(minute=0, second=0, microsecond=0)
    said = {first + n * HOUR: Reading(12.0, 0.7) for n in range(48)}
    keep_issue(source=source, readings=said, now=made_at)
    for back in range(4):
        day: date = (datetime.now(UTC) - timedelta(days=back)).date()
        values: dict[str, Any] = {"temperature_c": [10.0] * 24, "humidity": [0.8] * 24}
        AirDay.objects.create(company=company, source=source, day=day, **values)
    page = text(office, "/looking-back/forecasts/")
    assert "Held against what was forecast last for each hour." in page
    assert 'data-label="Off by, K">2<' in page
    assert '"Forecast 53, -6",1,24,2.0,2.0,10.0,-10.0' in text(
        office, "/looking-back/files/forecasts.csv"
    )
    (record,) = office.get("/api/v1/forecast-record/").json()["forecasts"]
    assert [one["mean_absolute_error_k"] for one in record["by_lead"]] == [2.0, 2.0]


def test_no_error_reads_minus_nothing() -> None:
    """In a file it would be told apart from nothing."""
    cells = record_cells(LeadError(1, 24, -0.001, 0.001, -0.0001, 0.0001))
    assert [str(cell) for cell in cells] == ["1", "24", "0.0", "0.0", "0.0", "0.0"]


def test_over_the_api(office: Client) -> None:
    body = office.get("/api/v1/looking-back/?months=3").json()
    (house,) = House.objects.all()
    assert {row["house"] for row in body["months"]} == {str(house.public_id)}
    assert sum(row["days_lost"]["drying"] for row in body["months"]) == 2
    assert body["waits"][0]["from_hours"] is None
    assert office.get("/api/v1/looking-back/?months=0").status_code == 422


def test_queries(office: Client, django_assert_max_num_queries: Any) -> None:
    for address in ("/looking-back/", "/looking-back/forecasts/", "/looking-back/files/days.csv"):
        with django_assert_max_num_queries(15):
            office.get(address)


def test_columns_stand_on_each_other_and_words_stay_words() -> None:
    """Two parts of 1 and 3 of an axis to 4 are a quarter and three quarters of the plot."""
    parts = [Part("a", "<one>", "#fff"), Part("b", "two", "#000")]
    words = Words("x", "Title", "Said")
    drawn = ET.fromstring(column_chart(words, [Column("M", {"a": 1.0, "b": 3.0})], parts))
    low, high = [bar for bar in drawn.iter("rect") if float(bar.get("width", "0")) > 20]
    assert float(high.get("height", "0")) == pytest.approx(3 * float(low.get("height", "0")))
    assert float(high.get("y", "0")) + float(high.get("height", "0")) == float(low.get("y", "0"))
    assert "<one>" in [element.text for element in drawn.iter("text")]
