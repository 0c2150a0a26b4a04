"""Sections of pages of which only a part comes back: refused, nothing of it is kept."""

from typing import Any

import pytest
from django.test import Client

from finishing.models import CrewHours, House, Room
from finishing.services.rows import version_of
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company())


@pytest.fixture
def client(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def refused(client: Client, address: str, sent: dict[str, Any]) -> bool:
    response = client.post(address, sent)
    return response.status_code == 409 and b"The page was not whole" in response.content


@pytest.mark.parametrize("part", ["site/facts/", "rooms/"])
def test_an_area_without_its_house(client: Client, house: House, part: str) -> None:
    area = house.areas.get()
    place = f"area-{area.public_id}"
    sent = {f"{place}-version": area.version, f"{place}-name": "Attic", f"{place}-floor": "Top"}
    assert refused(client, f"/houses/{house.public_id}/{part}", sent)
    area.refresh_from_db()
    assert area.name != "Attic"
    assert area.floor != "Top"


@pytest.mark.parametrize("sent", [{"version": 1, "name": "Den"}, {"ceiling-version": 0}])
def test_a_room_without_its_surfaces_or_the_other_way_round(
    client: Client, house: House, sent: dict[str, Any]
) -> None:
    room = Room.objects.get(area__house=house)
    given = {"kind": "room", "edge": "square_set", "boards": "along", **sent}
    assert refused(client, f"/houses/{house.public_id}/rooms/{room.public_id}/", given)
    assert Room.objects.get(pk=room.pk).name == room.name


def test_a_day_of_a_crews_week_is_saved_by_itself(client: Client, house: House) -> None:
    crew = make_crew(house.company)
    others = CrewHours.objects.filter(crew=crew).exclude(weekday=0).count()
    monday = version_of(CrewHours.objects.filter(crew=crew, weekday=0))
    sent = {"mon-version": monday, "mon-hours": "06:00-10:00"}
    assert client.post(f"/company/crews/{crew.public_id}/week/", sent).status_code == 302
    assert CrewHours.objects.get(crew=crew, weekday=0).start.hour == 6
    assert CrewHours.objects.filter(crew=crew).exclude(weekday=0).count() == others
