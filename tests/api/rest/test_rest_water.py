"""GET /api/v1/houses/<uuid>/water/."""

import pytest

from finishing.models import Dryer
from scheduling.services.water_answers import water_answers
from tests.api.conftest import SignIn
from tests.sites import MONDAY, make_heated_site, make_site

pytestmark = pytest.mark.django_db


def test_it_gives_the_answers_of_the_house_page(sign_in: SignIn) -> None:
    company, house = make_heated_site(air_changes_per_h=0.0)
    Dryer.objects.create(company=company, name="Big unit", count=3, litres_per_day=24)
    response = sign_in(company).get(f"/api/v1/houses/{house.public_id}/water/")
    assert response.status_code == 200
    got, expected = response.json(), water_answers(house=house, now=MONDAY)
    assert got["water_kg"] == pytest.approx(sum(row["water_kg"] for row in got["stages"]))
    assert got["held"]["humidity_percent"] == pytest.approx(55)
    assert got["held"]["outdoor_humidity_percent"] == pytest.approx(80)
    (load,) = got["loads"]
    answer = expected.loads[0].answer
    assert (load["what"], load["stages"]) == ("stage", ["finish"])
    assert load["given_off_kg_per_h"] == answer.given_off_kg_per_h
    assert load["air_changes_per_h"] == answer.air_changes_per_h
    (unit,) = load["dehumidifiers"]
    assert (unit["name"], unit["owned"], unit["needed"]) == ("Big unit", 3, answer.dryers[0])
    assert got["cautions"] == []


def test_a_drier_target_asks_for_more_air_change(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    client, address = sign_in(company), f"/api/v1/houses/{house.public_id}/water/"
    usual = client.get(address).json()["loads"][0]["air_changes_per_h"]
    drier = client.get(address, {"humidity_percent": "45"}).json()["loads"][0]
    assert drier["air_changes_per_h"] > usual


def test_what_no_air_change_does_is_null(sign_in: SignIn) -> None:
    company, house = make_site(temperature_c=25.0, humidity=0.9)
    got = sign_in(company).get(f"/api/v1/houses/{house.public_id}/water/").json()
    assert got["until_closed"] is True
    assert got["loads"][0]["air_changes_per_h"] is None
    assert got["loads"][0]["dehumidifiers"][0]["name"] == ""


def test_a_flame_heater_comes_with_its_caution(sign_in: SignIn) -> None:
    company, house = make_heated_site(flame_heater=True)
    got = sign_in(company).get(f"/api/v1/houses/{house.public_id}/water/").json()
    assert (got["flame_kg_per_kwh"], got["flame_kg_per_h"]) == (0.127, None)
    assert got["cautions"][0]["code"] == "heater_co"
    assert "carbon monoxide" in got["cautions"][0]["text"]


@pytest.mark.parametrize("value", ["0", "100", "x", "nan", "inf", ""])
def test_a_target_that_cannot_be_is_refused(sign_in: SignIn, value: str) -> None:
    company, house = make_heated_site()
    address = f"/api/v1/houses/{house.public_id}/water/"
    response = sign_in(company).get(address, {"humidity_percent": value})
    assert response.status_code == 422
    assert response.json()["errors"][0]["parameter"] == "humidity_percent"
