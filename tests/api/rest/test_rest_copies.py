"""POST /api/v1/houses/<id>/copies/: houses of the same type, all or none of them."""

import pytest

from finishing.models import Change, House, Room
from finishing.services.copy_house import MOST_COPIES
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company(), rooms=("Hall", "Kitchen"))


def test_copies_are_made_once_with_the_rooms_of_the_house(house: House) -> None:
    asker, address = program(house.company), f"/api/v1/houses/{house.public_id}/copies/"
    said = {
        "copies": [{"name": "Two", "address": "2 Mill Lane"}, {"name": "Three"}],
        "handover_on": "2026-05-01",
    }
    answer = asker.post(address, said, idempotency_key="once")
    assert answer.status_code == 201, answer.json()
    assert asker.post(address, said, idempotency_key="once").json() == answer.json()
    two, three = answer.json()["results"]
    assert (two["name"], two["address"], three["name"]) == ("Two", "2 Mill Lane", "Three")
    assert two["handover_on"] == three["handover_on"] == "2026-05-01"
    assert asker.get(f"/api/v1/houses/{three['id']}/").json() == three
    assert Room.objects.filter(area__house__name="Three").count() == 2
    (logged,) = Change.objects.filter(house__name="Two")
    assert (logged.by, logged.program != "", House.objects.count()) == (None, True, 3)


def test_all_faults_of_copies_are_named_at_once_and_none_is_made(house: House) -> None:
    asker, address = program(house.company), f"/api/v1/houses/{house.public_id}/copies/"
    wrong = [
        {"name": house.name},
        {"name": "Two"},
        {"name": "Two", "address": "x" * 251},
        {"name": " "},
        {"name": "x" * 121},
    ]
    answer = asker.post(address, {"copies": wrong, "handover_on": "soon", "rooms": []})
    assert answer.status_code == 422
    assert pointers(answer) == [
        "#/copies/0/name",
        "#/copies/2/address",
        "#/copies/2/name",
        "#/copies/3/name",
        "#/copies/4/name",
        "#/handover_on",
        "#/rooms",
    ]
    many = [{"name": f"House {number}"} for number in range(MOST_COPIES + 1)]
    for copies in ([], many, [{"name": 2}], [{"name": "Two", "rooms": 2}], "Two"):
        answer = asker.post(address, {"copies": copies, "handover_on": "2026-05-01"})
        assert answer.status_code == 422
        assert all(place.startswith("#/copies") for place in pointers(answer))
    assert House.objects.count() == 1
