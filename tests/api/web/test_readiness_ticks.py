"""Ticking the readiness list on the house page."""

from datetime import UTC, date, datetime, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from finishing.models import House, ReadinessLine
from finishing.rules.vocabulary import Readiness, Stage
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


def needed(house: House, item: Readiness, **fields: object) -> ReadinessLine:
    return ReadinessLine.objects.create(company=house.company, house=house, item=item, **fields)


def tick_at(house: House, item: str) -> str:
    return f"/houses/{house.public_id}/readiness/{item}/"


def test_a_tap_leads_back_to_the_house_and_the_next_undoes_it(sign_in: SignIn) -> None:
    house = make_house(make_company())
    line = needed(house, Readiness.POWER)
    client = sign_in(house.company)
    response = client.post(tick_at(house, "power"), {"done": "yes", "version": 1})
    assert response["Location"] == f"/houses/{house.public_id}/#readiness"
    line.refresh_from_db()
    assert (line.done, line.version) == (True, 2)
    page = client.get(f"/houses/{house.public_id}/").content.decode()
    assert 'name="version" value="2"' in page
    client.post(tick_at(house, "power"), {"done": "no", "version": 2})
    line.refresh_from_db()
    assert not line.done


def test_a_script_gets_the_list_alone(sign_in: SignIn) -> None:
    house = make_house(make_company())
    needed(house, Readiness.POWER)
    response = sign_in(house.company).post(
        tick_at(house, "power"), {"done": "yes", "version": 1}, headers={"HX-Request": "true"}
    )
    text = response.content.decode()
    assert text.strip().startswith('<section id="readiness-part"')
    assert 'aria-pressed="true"' in text


def test_a_tap_from_a_stale_page_is_refused_with_what_is_so(sign_in: SignIn) -> None:
    house = make_house(make_company())
    needed(house, Readiness.POWER, version=2, owed_by="Electrician")
    client = sign_in(house.company)
    response = client.post(tick_at(house, "power"), {"done": "yes", "version": 1})
    assert response.status_code == 409
    assert "Somebody else changed this" in response.content.decode()
    assert "owed by Electrician" in response.content.decode()
    assert not ReadinessLine.objects.get().done


def test_the_readiness_of_another_companys_house_is_not_there(sign_in: SignIn) -> None:
    house = make_house(make_company())
    needed(house, Readiness.POWER)
    other = sign_in(make_company("Other Finishing"))
    response = other.post(tick_at(house, "power"), {"done": "yes", "version": 1})
    assert response.status_code == 404
    assert not ReadinessLine.objects.get().done


def test_an_item_that_is_not_on_the_list_is_not_there(sign_in: SignIn) -> None:
    house = make_house(make_company())
    response = sign_in(house.company).post(tick_at(house, "power"), {"done": "yes"})
    assert response.status_code == 404


def test_the_page_says_what_a_missing_item_holds_up(sign_in: SignIn) -> None:
    company = make_company()
    house = make_house(company)
    crew, soon = make_crew(company), datetime.now(UTC) + timedelta(days=3)
    make_plan(
        company,
        [task(crew, house, soon), task(crew, house, soon, stage=Stage.PRIMER_TOUCH_UP)],
    )
    needed(house, Readiness.POWER, expected_on=date(2026, 3, 4))
    needed(house, Readiness.PRIMED)
    needed(house, Readiness.TRADES_DONE)
    text = sign_in(company).get(f"/houses/{house.public_id}/").content.decode()
    assert "Holds up all that is left here until Wed 4 Mar is over." in text
    assert "Holds up Touch-up after primer: without a day it cannot be planned." in text
    assert "Holds nothing up at present." in text


def test_what_is_not_on_the_list_and_holds_work_up_is_named(sign_in: SignIn) -> None:
    house = make_house(make_company(stages=["tape", "primer_touch_up"]))
    client, page = sign_in(house.company), f"/houses/{house.public_id}/"
    missing = "Primed by the painter: Holds up Touch-up after primer: without a day"
    assert missing in client.get(page).content.decode()
    needed(house, Readiness.PRIMED, expected_on=date(2026, 3, 4))
    assert "Not on the list, and needed" not in client.get(page).content.decode()


def test_an_edit_after_the_plan_is_said_to_be_unknown_to_it(sign_in: SignIn) -> None:
    house = make_house(make_company())
    needed(house, Readiness.POWER)
    make_plan(house.company)
    client = sign_in(house.company)
    unknown = "the plan does not know of it yet"
    assert unknown not in client.get(f"/houses/{house.public_id}/").content.decode()
    client.post(tick_at(house, "power"), {"done": "yes", "version": 1})
    assert unknown in client.get(f"/houses/{house.public_id}/").content.decode()


def test_a_tap_takes_a_fixed_number_of_queries(
    sign_in: SignIn, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    house = make_house(make_company())
    for item in Readiness:
        needed(house, item)
    client = sign_in(house.company)
    with django_assert_max_num_queries(22):
        client.post(
            tick_at(house, "power"), {"done": "yes", "version": 1}, headers={"HX-Request": "true"}
        )
