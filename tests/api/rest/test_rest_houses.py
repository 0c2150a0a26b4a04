"""/api/v1/houses/ and /api/v1/areas/: what the pages do with houses and their areas."""

import pytest

from finishing.models import Area, Change, House, JointingSystem, Role, User
from finishing.services.companies import start_company
from tests.api.rest.answers import Answer
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db
HOUSES, AREAS = "/api/v1/houses/", "/api/v1/areas/"
NEW = {"name": "Mill Cottage", "zone": "Europe/Dublin", "handover_on": "2026-04-01"}


def made(asker: Program, body: object, address: str = HOUSES) -> Answer:
    answer = asker.post(address, body)
    assert answer.status_code == 201, answer.json()
    return answer


def test_a_house_is_made_looked_at_changed_and_removed() -> None:
    company = start_company(name="Test Finishing", zone="Europe/Dublin")
    system = JointingSystem.objects.filter(company=company)[1]
    asker = program(company)
    answer = made(
        asker, {**NEW, "heating": "heated", "setpoint_c": 19, "system": str(system.public_id)}
    )
    address, said = answer["Location"], answer.json()
    assert (said["setpoint_c"], said["system"], said["is_active"]) == (
        19,
        str(system.public_id),
        True,
    )
    assert asker.get(address).json() == said
    assert answer["ETag"] == asker.get(address)["ETag"] == said["etag"]
    changed = asker.patch(address, {"is_active": False, "address": "1 Mill Lane"}, said["etag"])
    assert changed.status_code == 200
    assert changed.json() == {
        **said,
        "is_active": False,
        "address": "1 Mill Lane",
        "etag": changed["ETag"],
    }
    assert asker.delete(address, said["etag"]).status_code == 412
    assert asker.delete(address, changed["ETag"]).status_code == 204
    assert asker.get(address).status_code == 404


def test_all_faults_of_a_new_house_are_named_at_once() -> None:
    company = make_company()
    make_house(company)
    wrong = {
        "name": "Mill Cottage",
        "zone": "Europe/Nowhere",
        "handover_on": "2026-13-01",
        "latitude": 52,
        "heat_kw": "much",
        "is_open": 1,
        "heating": "heated",
        "setpoint_c": None,
        "id": "new",
        "nmae": "",
        "address": "a\nb",
    }
    answer = program(company).post(HOUSES, wrong)
    assert answer.status_code == 422
    assert pointers(answer) == sorted(f"#/{name}" for name in (
        "name", "zone", "handover_on", "longitude", "heat_kw", "is_open", "setpoint_c", "id",
        "nmae", "address",
    ))  # fmt: skip
    assert House.objects.count() == 1


def test_a_change_is_held_against_what_is_stored() -> None:
    company = make_company()
    house = make_house(company)
    asker, address = program(company), f"{HOUSES}{house.public_id}/"
    etag = asker.get(address)["ETag"]
    wrong = asker.patch(address, {"opens_on": "2026-03-28", "latitude": 52}, etag)
    assert pointers(wrong) == ["#/longitude", "#/opens_on"]
    house.refresh_from_db()
    assert (house.opens_on, house.version) == (None, 1)


def test_what_was_fetched_can_be_sent_again() -> None:
    company = make_company()
    asker, address = program(company), f"{HOUSES}{make_house(company).public_id}/"
    said = asker.get(address).json()
    again = asker.patch(address, said, said["etag"])
    assert (again.status_code, again.json()) == (200, said)


def test_another_companys_jointing_system_and_house_are_not_there() -> None:
    company, other = make_company(), start_company(name="Another firm", zone="UTC")
    system = JointingSystem.objects.filter(company=other)[0]
    house, theirs = make_house(company), make_house(other)
    asker = program(company)
    body = {**NEW, "name": "New", "system": str(system.public_id)}
    refused = asker.post(HOUSES, body)
    assert pointers(refused) == ["#/system"]
    nobodys = asker.post(HOUSES, {**body, "system": "00000000-0000-7000-8000-000000000000"})
    assert nobodys.json()["errors"] == refused.json()["errors"]
    assert pointers(asker.post(AREAS, {"house": str(theirs.public_id), "name": "A"})) == ["#/house"]
    for address in (f"{HOUSES}{theirs.public_id}/", f"{AREAS}{theirs.areas.all()[0].public_id}/"):
        assert asker.get(address).status_code == 404
        assert asker.patch(address, {"name": "Mine"}, "*").status_code == 404
        assert asker.delete(address, "*").status_code == 404
    assert [row["id"] for row in asker.get(HOUSES).json()["results"]] == [str(house.public_id)]
    assert asker.get(f"{AREAS}?house={theirs.public_id}").json()["results"] == []


def test_who_changed_a_house_is_in_its_history() -> None:
    company = make_company()
    person = User.objects.create(email="a@example.com", company=company, role=Role.PLANNER)
    for asker, by in ((program(company, person=person), person), (program(company), None)):
        house = made(asker, {**NEW, "name": f"House of {by}"}).json()
        change = Change.objects.get(house__public_id=house["id"])
        assert (change.kind, change.by) == ("made", by)


def test_a_house_with_rooms_is_not_removed() -> None:
    company = make_company()
    address = f"{HOUSES}{make_house(company).public_id}/"
    refused = program(company).delete(address, "*")
    assert refused.status_code == 409
    assert "It has rooms" in refused.json()["detail"]


def test_areas_are_added_put_in_order_renamed_and_removed() -> None:
    company = make_company()
    house = make_house(company)
    asker = program(company)
    first = made(asker, {"house": str(house.public_id), "name": "Attic", "position": 0}, AREAS)
    assert first.json()["position"] == 0
    names = [area.name for area in Area.objects.filter(house=house)]
    assert names == ["Attic", "Ground floor"]
    address = first["Location"]
    moved = asker.patch(address, {"position": 1, "handover_on": "2026-03-20"}, first["ETag"])
    assert (moved.json()["position"], moved.json()["handover_on"]) == (1, "2026-03-20")
    assert [area.name for area in Area.objects.filter(house=house)] == names[::-1]
    taken = asker.patch(address, {"name": "Ground floor", "floor": 3}, moved["ETag"])
    assert pointers(taken) == ["#/floor", "#/name"]
    assert asker.delete(address, moved["ETag"]).status_code == 204
    rest = f"{AREAS}{Area.objects.get(house=house).public_id}/"
    assert asker.delete(rest, "*").status_code == 409


def test_an_area_is_not_handed_over_before_its_house_opens() -> None:
    company = make_company()
    house = make_house(company, opens_on="2026-03-10")
    area = Area.objects.get(house=house)
    refused = program(company).patch(
        f"{AREAS}{area.public_id}/", {"handover_on": "2026-03-09"}, "*"
    )
    assert pointers(refused) == ["#/handover_on"]
