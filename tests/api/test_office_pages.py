"""What all of the office's pages keep to: few queries, however many houses there are."""

from datetime import timedelta

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db

PAGES = (
    "/",
    "/week/",
    "/houses/",
    "/houses/weeks/?weeks=8",
    "/air/",
    "/runs/",
    "/messages/",
    "/publishing/",
    "/pins/",
    "/company/",
    "/company/crews/",
    "/company/feeds/",
    "/company/compounds/",
    "/company/compounds/new/",
    "/company/systems/new/",
    "/company/rates/",
    "/company/settings/",
)
MOST_QUERIES = 15


@pytest.mark.usefixtures("asked")
@pytest.mark.parametrize("page", PAGES)
def test_a_page_takes_few_queries_with_forty_houses(
    sign_in: SignIn,
    monkeypatch: pytest.MonkeyPatch,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    page: str,
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)
    company = make_company()
    crews = [make_crew(company, f"Crew {number}") for number in range(3)]
    houses = [make_house(company, f"House {number}") for number in range(40)]
    make_plan(
        company,
        [
            task(crews[n % 3], house, MONDAY + timedelta(hours=9 * n), key=f"{n}")
            for n, house in enumerate(houses)
        ],
    )
    client = sign_in(company)
    with django_assert_max_num_queries(MOST_QUERIES):
        assert client.get(page).status_code == 200
