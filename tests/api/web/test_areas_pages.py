"""A house's areas edited together; a house started, taken out of work, removed."""

from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import Area, Change, House, JointingSystem, Room
from finishing.services.companies import start_company
from tests.api.conftest import SignIn
from tests.api.web.test_rooms_pages import text
from tests.factories import ZONE, make_company, make_crew, make_house, make_plan, task

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    house = make_house(start_company(name="Test Finishing", zone=ZONE), rooms=("Hall", "Kitchen"))
    Area.objects.create(company=house.company, house=house, name="Attic", position=1)
    return house


@pytest.fixture
def office(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def areas_url(house: House) -> str:
    return f"/houses/{house.public_id}/rooms/"


def as_it_is(house: House, **typed: Any) -> dict[str, Any]:
    """The form as a browser sends it. typed: by "area name: field"."""
    sent: dict[str, Any] = {"version": house.version, "corner_tool": house.corner_tool}
    for number, area in enumerate(house.areas.all(), start=1):
        shown = {"version": area.version, "name": area.name, "floor": area.floor, "order": number}
        shown |= {k.split(": ")[1]: v for k, v in typed.items() if k.startswith(f"{area.name}: ")}
        sent |= {f"area-{area.public_id}-{name}": value for name, value in shown.items()}
    for name in ("new-1", "new-2"):
        sent |= {f"{name}-version": 0, f"{name}-name": "", f"{name}-floor": "", f"{name}-order": ""}
    return sent | {name: value for name, value in typed.items() if ": " not in name}


def names(house: House) -> list[str]:
    return [area.name for area in Area.objects.filter(house=house)]


class TestAreas:
    def test_they_are_added_renamed_and_put_in_order(self, office: Client, house: House) -> None:
        typed = {"Attic: name": "Loft", "Attic: order": "1", "new-1-name": "Annexe"}
        assert office.post(areas_url(house), as_it_is(house, **typed)).status_code == 302
        assert names(house) == ["Loft", "Ground floor", "Annexe"]
        assert {c.what for c in Change.objects.all()} == {"area"}

    def test_two_may_change_their_names_over(self, office: Client, house: House) -> None:
        typed = {"Attic: name": "Ground floor", "Ground floor: name": "Attic"}
        assert office.post(areas_url(house), as_it_is(house, **typed)).status_code == 302
        assert names(house) == ["Attic", "Ground floor"]

    def test_system_and_corner_tool_of_house_and_area(self, office: Client, house: House) -> None:
        own, other = JointingSystem.objects.filter(company=house.company)[:2]
        typed = {
            "system": str(own.public_id),
            "corner_tool": "corner_tool",
            "Attic: system": str(other.public_id),
        }
        assert office.post(areas_url(house), as_it_is(house, **typed)).status_code == 302
        house.refresh_from_db()
        assert (house.system, house.corner_tool) == (own, "corner_tool")
        assert house.areas.get(name="Attic").system == other

    def test_a_system_of_another_company_is_not_known(self, office: Client, house: House) -> None:
        strange = JointingSystem.objects.filter(company=start_company(name="O", zone=ZONE))[0]
        typed = {"system": str(strange.public_id)}
        response = office.post(areas_url(house), as_it_is(house, **typed))
        assert response.status_code == 422
        assert "This system is not known" in text(response)

    def test_all_faults_at_once_and_nothing_lost(self, office: Client, house: House) -> None:
        typed = {"Attic: name": "", "new-1-name": "Ground floor", "new-2-name": "Cellar"}
        response = office.post(areas_url(house), as_it_is(house, **typed))
        assert response.status_code == 422
        page = text(response)
        for said in ("Give the area a name.", "another area of this name", 'value="Cellar"'):
            assert said in page
        assert names(house) == ["Ground floor", "Attic"]

    def test_removing_asks_first_and_says_what_goes(self, office: Client, house: House) -> None:
        crew = make_crew(house.company)
        make_plan(house.company, [task(crew, house, "2026-03-03 08:00", room="Hall")])
        sent = as_it_is(house, **{"Ground floor: remove": "on"})
        page = text(office.post(areas_url(house), sent))
        assert "Ground floor goes, with its takeoff." in page
        assert "1 piece of work in the plan" in page
        assert Room.objects.count() == 2
        assert office.post(areas_url(house), {**sent, "confirmed": "1"}).status_code == 302
        assert names(house) == ["Attic"]

    def test_a_stale_page_is_refused(self, office: Client, house: House) -> None:
        opened = as_it_is(house, **{"Attic: name": "Loft"})
        office.post(areas_url(house), as_it_is(house, **{"Attic: name": "Roof"}))
        response = office.post(areas_url(house), opened)
        assert response.status_code == 409
        page = text(response)
        assert "Roof" in page
        assert 'value="Loft"' in page

    def test_its_queries_do_not_grow(
        self, office: Client, house: House, django_assert_max_num_queries: DjangoAssertNumQueries
    ) -> None:
        with django_assert_max_num_queries(15):
            office.get(areas_url(house))


NEW = {
    "name": "Quay Cottage",
    "handover_on": "2026-05-01",
    "zone": ZONE,
    "address": "2 Quay Lane",
    "latitude": "53,35",
    "longitude": "-6.26",
    "areas": "Ground floor\n\nFirst floor",
    "level": "GA-214 5",
}


class TestANewHouse:
    def test_it_leads_to_the_rooms_of_its_first_area(self, office: Client, house: House) -> None:
        response = office.post("/houses/new/", NEW, follow=True)
        made = House.objects.get(name="Quay Cottage")
        assert made.company == house.company
        assert (made.latitude, made.longitude) == (53.35, -6.26)
        assert names(made) == ["Ground floor", "First floor"]
        assert response.resolver_match.url_name == "area_rooms"
        assert '<option value="GA-214 5" selected>' in text(response)

    def test_all_faults_at_once_and_nothing_lost(self, office: Client, house: House) -> None:
        typed = {**NEW, "name": house.name, "handover_on": "", "zone": "Nowhere/At all"}
        typed |= {"latitude": "200", "longitude": "", "areas": "Top\nTop"}
        response = office.post("/houses/new/", typed)
        assert response.status_code == 422
        page = text(response)
        for said in ("another house of this name", "Choose a day.", "Top is there more than once."):
            assert said in page, said
        assert "Nowhere/At all" in page
        assert 'value="200"' in page
        assert House.objects.count() == 1

    def test_a_name_that_somebody_takes_after_the_form_looked_is_refused(
        self, office: Client, house: House, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        looked = "api.web.new_house_form.new_house_faults"
        monkeypatch.setattr(looked, lambda *_: [])  # no such house yet
        response = office.post("/houses/new/", {**NEW, "name": house.name})
        assert response.status_code == 422
        assert "another house of this name" in text(response)
        assert House.objects.count() == 1

    def test_half_a_position_is_none(self, office: Client) -> None:
        response = office.post("/houses/new/", {**NEW, "longitude": ""})
        assert "Latitude and longitude go together" in text(response)


class TestOutOfWork:
    def test_a_house_goes_out_of_work_and_comes_back(self, office: Client, house: House) -> None:
        address = f"/houses/{house.public_id}/active/"
        office.post(address, {"version": house.version, "active": "no"})
        house.refresh_from_db()
        assert not house.is_active
        assert "Out of work" in text(office.get("/houses/"))
        office.post(address, {"version": house.version, "active": "yes"})
        house.refresh_from_db()
        assert house.is_active
        stale = office.post(address, {"version": 1, "active": "no"})
        assert stale.status_code == 409

    def test_only_a_house_without_rooms_is_removed(self, office: Client, house: House) -> None:
        address = f"/houses/{house.public_id}/remove/"
        response = office.post(address, {"version": house.version})
        assert response.status_code == 422
        assert "It has rooms" in text(response)
        Room.objects.all().delete()
        assert office.post(address, {"version": 7}).status_code == 409
        assert office.post(address, {"version": house.version}).status_code == 302
        assert not House.objects.exists()

    def test_a_house_that_a_plan_knows_is_kept(self, office: Client, house: House) -> None:
        crew = make_crew(house.company)
        make_plan(house.company, [task(crew, house, "2026-03-03 08:00", room="Hall")])
        Room.objects.all().delete()
        response = office.post(f"/houses/{house.public_id}/remove/", {"version": house.version})
        assert response.status_code == 422
        assert "set it inactive" in text(response)
        assert House.objects.count() == 1


@pytest.mark.parametrize("end", ["rooms/", "remove/", "active/"])
def test_another_company_finds_no_such_house(sign_in: SignIn, house: House, end: str) -> None:
    stranger = sign_in(make_company("Others"))
    address = f"/houses/{house.public_id}/{end}"
    assert stranger.post(address, {"version": "1"}).status_code == 404
