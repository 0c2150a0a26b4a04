"""The house page's section on water and air."""

import pytest
from django.db.models import F
from django.test import Client
from django.utils import timezone

from finishing.models import Dryer, House
from tests.api.conftest import SignIn
from tests.sites import MONDAY, make_heated_site, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _this_monday(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages read the clock; here it stands at the Monday of the sites."""
    monkeypatch.setattr(timezone, "now", lambda: MONDAY)


def text_of(client: Client, house: House, page: str = "air/") -> str:
    """Return the part of the house page that it fetches, or the page itself."""
    response = client.get(f"/houses/{house.public_id}/{page}")
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_it_says_how_much_water_and_what_keeps_up(sign_in: SignIn) -> None:
    company, house = make_heated_site(air_changes_per_h=0.0)
    Dryer.objects.create(company=company, name="Big unit", count=3, litres_per_day=24)
    text = text_of(sign_in(company), house)
    for part in (
        "The coats still to do leave",
        "air held at 20 °C and 55 %, 0.0 air changes an hour in 500 m³",
        "outdoors 10 °C and 80 %",
        '<th scope="row">Tape coat</th><td data-label="Compound, litres">5</td>',
        "The wettest stage, all rooms at once (Finish coat,",
        "Air change carries out 0.0 kg an hour.",
        "Big unit: 1 keeps up (you have 3).",
        "By air change alone:",
    ):
        assert part in text
    assert "carbon monoxide" not in text


def test_a_flame_heater_is_never_named_without_the_caution(sign_in: SignIn) -> None:
    company, house = make_heated_site(flame_heater=True, heat_kw=15.0)
    text = text_of(sign_in(company), house)
    # 15 kW x 0.127 kg a kWh is 46 kg a day (computed, stoichiometry of propane).
    assert (
        "0.127 kg of water for each kWh of heat: 1.9 kg an hour at full heat, 46 kg a day." in text
    )
    assert "carbon monoxide" in text
    assert "Local codes and licensed practice decide" in text


def test_nor_is_one_that_was_brought(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    row = Dryer.objects.create(company=company, name="Fan heater", kind="heater", heat_kw=15)
    Dryer.objects.update(house=house)
    for page in ("", "air/"):
        assert "carbon monoxide" not in text_of(sign_in(company), house, page)
    Dryer.objects.filter(pk=row.pk).update(flame=True, version=F("version") + 1)
    text = text_of(sign_in(company), house)
    assert "carbon monoxide" in text
    assert "Local codes and licensed practice decide" in text


def test_damp_air_outside_is_no_cure(sign_in: SignIn) -> None:
    company, house = make_site(temperature_c=25.0, humidity=0.9)
    text = text_of(sign_in(company), house)
    assert "none does; the air outside holds as much water" in text
    assert "A dehumidifier of 20 litres a day, as an example" in text
    assert "it holds once it is closed" in text
    assert "Air change brings in" in text


def test_a_house_with_nothing_left_to_coat_has_no_such_section(sign_in: SignIn) -> None:
    company, house = make_heated_site()
    House.objects.filter(pk=house.pk).update(is_active=False)
    assert "Water and air" not in text_of(sign_in(company), house)
