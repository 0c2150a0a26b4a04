"""Sheets for paper: what a crew has been told of a week, what is handed over of a house."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import Company, Crew, DayOff, Holiday, House, ReadinessLine
from finishing.rules.vocabulary import Stage
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import local, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 2)


def site(name: str = "Test Finishing") -> tuple[Company, Crew, House]:
    company = make_company(name)
    crew, house = make_crew(company), make_house(company, address="3 Invented Lane")
    make_plan(
        company,
        [
            task(crew, house, "2026-03-02 08:00"),
            task(crew, house, "2026-03-09 08:00", stage=Stage.SECOND),
        ],
    )
    return company, crew, house


def crew_address(crew: Crew, day: date = MONDAY) -> str:
    return f"/week/{day}/crews/{crew.public_id}/sheet/"


def words(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    return " ".join(response.text.split())


def test_a_crews_sheet_shows_what_it_was_told_of_the_week(sign_in: SignIn) -> None:
    company, crew, _ = site()
    client = sign_in(company)
    assert "Nothing is published yet" in words(client, crew_address(crew))
    publish_plan(company=company, now=local("2026-03-01 18:00"))
    make_plan(company)  # what the office goes on with is no matter for the sheet
    text = words(client, crew_address(crew))
    for said in (
        "Monday 2 March to Sunday 8 March 2026",
        "revision 1 of Sun 1 Mar 18:00",
        "08:00 - 10:00",
        "Mill Cottage: Tape coat",
        "3 Invented Lane",
        "flat joints 12.3 m",
        "do not touch until then",
    ):
        assert said in text
    assert text.count('<article class="stop">') == 1, "the next week is on the next sheet"
    assert "Second coat" in words(client, crew_address(crew, MONDAY + timedelta(days=7)))


def test_a_crews_sheet_names_holidays_and_who_is_off(sign_in: SignIn) -> None:
    company, crew, _ = site()
    Holiday.objects.create(company=company, day=date(2026, 3, 5), name="Founders Day")
    member = crew.members.get(name="North crew 1")
    DayOff.objects.create(company=company, crew=crew, member=member, day=date(2026, 3, 4))
    text = words(sign_in(company), crew_address(crew))
    for said in ("Wednesday 4 March", "North crew 1 is off", "Thursday 5 March", "Founders Day"):
        assert said in text


def test_a_houses_sheet_has_each_surface_with_its_last_work(sign_in: SignIn) -> None:
    company, _, house = site()
    ReadinessLine.objects.create(company=company, house=house, item="clear_floors")
    ReadinessLine.objects.create(company=company, house=house, item="power", done=True)
    text = words(sign_in(company), f"/houses/{house.public_id}/sheet/")
    for said in ("Hall, walls", "GA-214 level 4", "Second coat", "Tue 10 Mar 10:00"):
        assert said in text
    assert "Not there yet: clear floors</p>" in text
    assert "Tape coat" not in text, "only what comes last"


def test_another_companys_sheets_are_not_there(sign_in: SignIn) -> None:
    _, crew, house = site()
    stranger = sign_in(site("Other Finishing")[0])
    assert stranger.get(crew_address(crew)).status_code == 404
    assert stranger.get(f"/houses/{house.public_id}/sheet/").status_code == 404
    assert stranger.get(f"/houses/{uuid4()}/sheet/").status_code == 404
    assert Client().get(crew_address(crew)).status_code == 302


def test_a_sheet_has_a_fixed_number_of_queries(
    sign_in: SignIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    company, crew, house = site()
    publish_plan(company=company, now=local("2026-03-01 18:00"))
    client = sign_in(company)
    for address, number in ((crew_address(crew), 12), (f"/houses/{house.public_id}/sheet/", 11)):
        with django_assert_num_queries(number):
            words(client, address)
