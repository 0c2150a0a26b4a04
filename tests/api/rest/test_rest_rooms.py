"""/api/v1/rooms/: rooms with their surfaces and what is taken off them."""

from typing import Any

import pytest

from finishing.models import Area, Room, Surface
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db
ROOMS = "/api/v1/rooms/"
SIZES = {"length_m": 4, "width_m": 3, "height_m": 2.4}


def surface(part: str = "walls", takeoff: str = "rooms", **more: Any) -> dict[str, Any]:
    return {"part": part, "family": "GA-214", "level": "4", "takeoff": takeoff, **more}


def make_area() -> Area:
    return Area.objects.select_related("company").get(house=make_house(make_company()))


def test_a_room_is_added_with_what_its_sizes_come_to() -> None:
    area = make_area()
    asker = program(area.company)
    door = {"width_m": 0.9, "height_m": 2.1, "lined": True}
    body = {
        "area": str(area.public_id),
        "name": "Study",
        "position": 0,
        **SIZES,
        "openings": [door],
        "surfaces": [surface("ceiling"), surface()],
    }
    made = asker.post(ROOMS, body)
    assert made.status_code == 201, made.json()
    said = made.json()
    ceiling, walls = said["surfaces"]
    assert ceiling["area_m2"] == 12
    assert walls["area_m2"] == pytest.approx(2 * (4 + 3) * 2.4 - 0.9 * 2.1, abs=0.01)
    assert walls["metres"]["external"] == pytest.approx(2 * 2.1 + 0.9)
    assert ceiling["metres"]["internal"] == 14  # the edge all round
    assert said["openings"] == [{**door, "sill_m": 0, "wall": 0}]
    assert [room.name for room in Room.objects.filter(area=area)] == ["Study", "Hall"]
    same = asker.patch(made["Location"], said, said["etag"])
    assert (same.status_code, same.json()) == (200, said)


def test_a_change_of_sizes_counts_anew_and_a_surface_left_out_goes() -> None:
    area = make_area()
    asker = program(area.company)
    body = {"area": str(area.public_id), "name": "Study", **SIZES, "surfaces": [surface("ceiling")]}
    made = asker.post(ROOMS, body)
    wider = asker.patch(made["Location"], {"width_m": 6}, made["ETag"])
    assert wider.json()["surfaces"][0]["area_m2"] == 24
    part = Surface.objects.get(room__name="Study")
    measured = surface("walls", "measured", metres={"butt": 3.5}, area_m2=20, fasteners=40)
    changed = asker.patch(made["Location"], {"surfaces": [measured]}, wider["ETag"])
    (walls,) = changed.json()["surfaces"]
    assert (walls["part"], walls["metres"]["butt"], walls["fasteners"]) == ("walls", 3.5, 40)
    assert not Surface.objects.filter(pk=part.pk).exists()
    assert asker.delete(made["Location"], changed["ETag"]).status_code == 204
    assert [room.name for room in Room.objects.filter(area=area)] == ["Hall"]


def test_a_tag_is_of_the_surfaces_too() -> None:
    area = make_area()
    room = Room.objects.get(area=area)
    asker, address = program(area.company), f"{ROOMS}{room.public_id}/"
    seen = asker.get(address)["ETag"]
    Surface.objects.filter(room=room).update(version=2, level="5", area_m2=9)
    stale = asker.patch(address, {"name": "Other"}, seen)
    assert stale.status_code == 412
    assert [change["pointer"] for change in stale.json()["changes"]] == ["#/surfaces"]


def test_all_faults_of_a_room_are_named_at_once() -> None:
    area = make_area()
    asker = program(area.company)
    wrong = {
        "area": str(area.public_id),
        "name": "Hall",
        "length_m": "4",
        "height_m": 0,
        "openings": [{"width_m": 1}, {"width_m": 1, "height_m": 2, "wall": 4, "colour": "red"}],
        "surfaces": [surface(level="9"), surface("roof", fasteners=1.5)],
    }
    assert pointers(asker.post(ROOMS, wrong)) == [
        "#/height_m",
        "#/length_m",
        "#/name",
        "#/openings/0/height_m",
        "#/openings/1/colour",
        "#/openings/1/wall",
        "#/surfaces/0/level",
        "#/surfaces/1/fasteners",
        "#/surfaces/1/part",
    ]
    assert Room.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "places"),
    [
        ({"surfaces": [surface()]}, ["#/height_m", "#/length_m", "#/width_m"]),
        ({"surfaces": [surface(takeoff="rough")]}, ["#/surfaces/0/area_m2"]),
        (
            {"surfaces": [surface("walls", "measured"), surface("walls", "measured")]},
            ["#/surfaces/1/part"],
        ),
        (
            {**SIZES, "openings": [{"width_m": 5, "height_m": 3}]},
            ["#/openings/0", "#/openings/0/width_m"],
        ),
        (
            {**SIZES, "openings": [{"width_m": 3, "height_m": 2}] * 2},
            ["#/openings"],
        ),
        ({**SIZES, "surfaces": [surface(fasteners=9)]}, ["#/surfaces/0/takeoff"]),
        ({"surfaces": [surface("walls", "measured", level="5")]}, ["#/surfaces/0"]),
        ({"surfaces": [surface("walls", "measured", cornice_m=4)]}, ["#/surfaces/0"]),
    ],
)
def test_a_takeoff_that_cannot_be_says_where(change: dict[str, Any], places: list[str]) -> None:
    area = make_area()
    room = Room.objects.get(area=area)
    answer = program(area.company).patch(f"{ROOMS}{room.public_id}/", change, "*")
    assert answer.status_code == 422
    assert pointers(answer) == places
    assert Room.objects.get(pk=room.pk).version == 1


def test_a_room_of_another_company_is_not_there() -> None:
    area = make_area()
    asker = program(make_company("Another firm"))
    assert pointers(asker.post(ROOMS, {"area": str(area.public_id), "name": "A"})) == ["#/area"]
    assert asker.get(f"{ROOMS}?area={area.public_id}").json()["results"] == []
