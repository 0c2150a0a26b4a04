"""Rooms edited in place: rows of an area, a room's own page, and what they come to meanwhile."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import Area, Change, Company, House, Room, Surface
from finishing.services.companies import start_company
from tests.api.conftest import SignIn
from tests.factories import ZONE, make_company, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(start_company(name="Test Finishing", zone=ZONE), rooms=("Hall", "Kitchen"))


@pytest.fixture
def office(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


@pytest.fixture
def room(house: House) -> Room:
    return Room.objects.get(area__house=house, name="Hall")


def area_url(area: Area, end: str = "") -> str:
    return f"/houses/{area.house.public_id}/areas/{area.public_id}/{end}"


def room_url(room: Room, end: str = "") -> str:
    return f"/houses/{room.area.house.public_id}/rooms/{room.public_id}/{end}"


def sent_by(page: str) -> dict[str, str]:
    """What a browser sends of the page's main form when nobody types anything."""
    form = page[page.index("hx-trigger=") :]
    form = form[: form.index("</form>")]
    sent = {}
    for tag in re.findall(r"<input[^>]*>", form):
        attributes = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        ticked = attributes.get("type") == "checkbox"
        if not ticked or "checked" in tag:
            sent[attributes["name"]] = unescape(attributes.get("value", "on" if ticked else ""))
    for name, options in re.findall(r'<select name="([^"]*)"[^>]*>(.*?)</select>', form, re.S):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        first = re.search(r'<option value="([^"]*)"', options)
        sent[name] = (chosen or first or [""])[1]
    sent.pop("csrfmiddlewaretoken")
    return sent


def shown(office: Client, url: str) -> dict[str, str]:
    return sent_by(office.get(url).content.decode())


def row_of(room: Room, **typed: str) -> dict[str, str]:
    return {f"room-{room.public_id}-{name}": value for name, value in typed.items()}


def new_row(number: int, **typed: str) -> dict[str, str]:
    return {f"new-{number}-{name}": value for name, value in typed.items()}


def text(response: Any) -> str:
    return str(response.content.decode())


DEN = {"name": "Den", "length_m": "4,8", "width_m": "3.6", "height_m": "2.4"}


class TestRowsOfAnArea:
    def test_rooms_are_added_in_rows_and_blank_rows_are_none(
        self, office: Client, house: House
    ) -> None:
        area = house.areas.get()
        data = {**shown(office, area_url(area)), **new_row(1, **DEN)}
        assert office.post(area_url(area), data).status_code == 302
        assert [room.name for room in area.rooms.all()] == ["Hall", "Kitchen", "Den"]
        den = Room.objects.get(name="Den")
        assert (den.length_m, den.surfaces.count()) == (4.8, 1)  # walls, as in the room above
        assert den.surfaces.get().joints.get(kind="tapered").metres == 16.8

    def test_a_floor_of_75_rooms_is_saved_together(self, office: Client, house: House) -> None:
        area = house.areas.get()
        for number in range(73):
            Room.objects.create(company=house.company, area=area, name=f"Flat {number}")
        data = {**shown(office, area_url(area)), **new_row(1, **DEN)}
        assert office.post(area_url(area), data).status_code == 302
        assert area.rooms.count() == 76

    def test_what_is_typed_is_counted_and_not_stored(self, office: Client, house: House) -> None:
        area = house.areas.get()
        data = {**shown(office, area_url(area)), **new_row(1, **DEN)}
        answer = text(office.post(area_url(area, "totals/"), data))
        assert "16.8 m" in answer
        assert 'id="sum-new-1" hx-swap-oob="true"' in answer
        assert area.rooms.count() == 2
        assert not Change.objects.exists()

    def test_without_scripts_a_button_works_out_the_same(
        self, office: Client, house: House
    ) -> None:
        area = house.areas.get()
        data = {**shown(office, area_url(area)), **new_row(1, **DEN), "work_out": "1"}
        page = text(office.post(area_url(area), data))
        assert "16.8 m" in page
        assert 'value="4,8"' in page
        assert area.rooms.count() == 2

    def test_all_faults_are_shown_at_once_and_nothing_typed_is_lost(
        self, office: Client, house: House
    ) -> None:
        area = house.areas.get()
        hall, kitchen = area.rooms.all()
        data = {
            **shown(office, area_url(area)),
            **row_of(hall, name=""),
            **row_of(kitchen, length_m="four"),
            **new_row(1, name="Den", length_m="4", width_m="3", openings="a door"),
            **new_row(2, name="Attic", length_m="4"),
        }
        response = office.post(area_url(area), data)
        assert response.status_code == 422
        page = text(response)
        for said in (
            "Give the room a name.",
            "This is not a number: type something like 4.25.",
            "an opening is written as",
            "Needed for a takeoff from the room&#x27;s sizes.",
            'value="four"',
            'value="a door"',
            'aria-invalid="true"',
        ):
            assert said in page, said
        assert area.rooms.count() == 2

    def test_a_stale_page_is_refused_and_says_what_is_there_now(
        self, office: Client, house: House
    ) -> None:
        area = house.areas.get()
        hall, kitchen = area.rooms.all()
        opened = shown(office, area_url(area))
        office.post(area_url(area), {**opened, **row_of(hall, length_m="5.5")})
        mine = {**opened, **row_of(hall, length_m="6.5"), **row_of(kitchen, name="Scullery")}
        response = office.post(area_url(area), mine)
        assert response.status_code == 409
        page = text(response)
        assert "it is now “5.5”, you typed “6.5”" in page
        assert 'value="6.5"' in page
        assert Room.objects.get(pk=hall.pk).length_m == 5.5
        assert office.post(area_url(area), sent_by(page)).status_code == 302
        assert Room.objects.get(pk=hall.pk).length_m == 6.5
        assert Room.objects.get(pk=kitchen.pk).name == "Scullery"

    def test_a_row_that_nobody_touched_does_not_undo_what_another_changed(
        self, office: Client, house: House
    ) -> None:
        area = house.areas.get()
        hall, kitchen = area.rooms.all()
        opened = shown(office, area_url(area))
        office.post(area_url(area), {**opened, **row_of(hall, length_m="5.5")})
        mine = {**opened, **row_of(kitchen, name="Scullery")}
        assert office.post(area_url(area), mine).status_code == 302
        assert Room.objects.get(pk=hall.pk).length_m == 5.5
        assert Room.objects.get(pk=kitchen.pk).name == "Scullery"

    def test_a_row_gets_the_place_that_is_typed(self, office: Client, house: House) -> None:
        area = house.areas.get()
        hall, _kitchen = area.rooms.all()
        data = {**shown(office, area_url(area)), **new_row(1, **DEN)}
        office.post(area_url(area), data)
        data = {**shown(office, area_url(area)), **row_of(hall, order="3")}
        office.post(area_url(area), data)
        assert [room.name for room in area.rooms.all()] == ["Kitchen", "Den", "Hall"]

    def test_removing_asks_first_and_keeps_what_else_was_typed(
        self, office: Client, house: House
    ) -> None:
        area = house.areas.get()
        hall, kitchen = area.rooms.all()
        data = {
            **shown(office, area_url(area)),
            **row_of(hall, remove="on"),
            **row_of(kitchen, name="Scullery"),
        }
        page = text(office.post(area_url(area), data))
        assert "Hall goes, with its takeoff." in page
        assert 'value="Scullery"' in page
        assert area.rooms.count() == 2
        assert office.post(area_url(area), {**data, "confirmed": "1"}).status_code == 302
        assert [room.name for room in area.rooms.all()] == ["Scullery"]

    def test_a_surface_goes_only_when_that_is_confirmed(self, office: Client, house: House) -> None:
        area = house.areas.get()
        hall, _kitchen = area.rooms.all()
        data = {**shown(office, area_url(area)), **row_of(hall, walls="")}
        assert "Hall, walls: it goes" in text(office.post(area_url(area), data))
        assert hall.surfaces.count() == 1
        assert office.post(area_url(area), {**data, "confirmed": "1"}).status_code == 302
        assert hall.surfaces.count() == 0

    def test_a_house_of_25_rooms_is_read_in_a_fixed_number_of_queries(
        self, office: Client, house: House, django_assert_max_num_queries: DjangoAssertNumQueries
    ) -> None:
        area = house.areas.get()
        rows = [new_row(n, **{**DEN, "name": f"Room {n}", "version": "0"}) for n in range(1, 26)]
        data = shown(office, area_url(area))
        usual = {n: data[f"new-1-{n}"] for n in ("kind", "edge", "boards", "walls", "ceiling")}
        for number, row in enumerate(rows, start=1):
            data |= {**new_row(number, **usual), **row}
        assert office.post(area_url(area), data).status_code == 302
        assert area.rooms.count() == 27
        with django_assert_max_num_queries(15):
            office.get(area_url(area))


class TestARoom:
    def measured(self, office: Client, room: Room) -> dict[str, str]:
        sizes = {"length_m": "4.8", "width_m": "3.6", "height_m": "2.4"}
        levels = {"ceiling-level": "GA-214 4", "walls-level": "GA-214 5"}
        ways = {"ceiling-takeoff": "rooms", "walls-takeoff": "rooms"}
        door = {"openings": "0.9x2.1; 1.5x1.2@0.9 on 2 lined"}
        return {**shown(office, room_url(room)), **sizes, **levels, **ways, **door}

    def test_its_sizes_levels_and_boards(self, office: Client, room: Room) -> None:
        data = self.measured(office, room)
        assert office.post(room_url(room), {**data, "boards": "across"}).status_code == 302
        room.refresh_from_db()
        assert not room.boards_along
        walls = room.surfaces.get(part="walls")
        assert walls.level == "5"
        # By hand in tests/finishing/rules/test_takeoff.py.
        assert walls.joints.get(kind="tapered").metres == 22.8

    def test_what_is_typed_is_drawn_and_counted_for_room_and_house(
        self, office: Client, room: Room
    ) -> None:
        answer = text(office.post(room_url(room, "totals/"), self.measured(office, room)))
        # Ceiling 9.6 m and walls 14.4 m of flat joints, by hand.
        assert re.search(r'Flat joints</th><td data-label="This room">24 m', answer)
        assert re.search(r'Ceiling</th>.*9.6 m</td><td data-label="Butt joints">3.6 m', answer)
        assert answer.count('class="joint butt"') > 4
        assert "stroke-dasharray" in answer
        assert not Room.objects.get(name="Hall").length_m

    def test_figures_that_cannot_be_say_why_nothing_is_counted(
        self, office: Client, room: Room
    ) -> None:
        data = {**self.measured(office, room), "openings": "5x2", "width_m": "x"}
        answer = text(office.post(room_url(room, "totals/"), data))
        assert "Not counted yet" in answer
        assert "This is not a number" in answer

    def test_measured_figures_are_kept_as_typed(self, office: Client, room: Room) -> None:
        data = {
            **shown(office, room_url(room)),
            "walls-tapered_m": "12,5",
            "walls-fasteners": "200",
            "walls-area_m2": "30",
            "walls-wet_area": "on",
        }
        assert office.post(room_url(room), data).status_code == 302
        walls = room.surfaces.get()
        assert (walls.takeoff, walls.fasteners, walls.wet_area) == ("measured", 200, True)
        assert walls.joints.get().metres == 12.5
        page = text(office.get(room_url(room)))
        assert 'value="12.5"' in page

    def test_measured_figures_are_not_dropped_for_another_way(
        self, office: Client, room: Room
    ) -> None:
        data = {**self.measured(office, room), "walls-tapered_m": "12"}
        response = office.post(room_url(room), data)
        assert response.status_code == 422
        assert "choose measured, or clear them" in text(response)

    def test_a_level_of_another_family_is_none(self, office: Client, room: Room) -> None:
        data = {**shown(office, room_url(room)), "walls-level": "AS/NZS 2589 1"}
        assert office.post(room_url(room), data).status_code == 422
        assert Surface.objects.get(room=room).level == "4"

    def test_a_surface_goes_only_when_that_is_confirmed(self, office: Client, room: Room) -> None:
        data = {**shown(office, room_url(room)), "walls-level": ""}
        page = text(office.post(room_url(room), data))
        assert "with what was taken off of it" in page
        assert room.surfaces.count() == 1
        assert office.post(room_url(room), {**data, "confirmed": "1"}).status_code == 302
        assert room.surfaces.count() == 0

    def test_a_stale_page_is_refused(self, office: Client, room: Room) -> None:
        opened = self.measured(office, room)
        office.post(room_url(room), {**opened, "name": "Entrance"})
        response = office.post(room_url(room), {**opened, "name": "Porch"})
        assert response.status_code == 409
        page = text(response)
        assert "it is now “Entrance”, you typed “Porch”" in page
        assert 'value="Porch"' in page
        assert office.post(room_url(room), sent_by(page)).status_code == 302

    def test_the_page_takes_few_queries(
        self, office: Client, room: Room, django_assert_max_num_queries: DjangoAssertNumQueries
    ) -> None:
        url = room_url(room)
        with django_assert_max_num_queries(15):
            office.get(url)


@pytest.mark.parametrize("end", ["", "totals/"])
def test_another_company_finds_no_such_place(sign_in: SignIn, house: House, end: str) -> None:
    other: Company = make_company("Others")
    stranger, area = sign_in(other), house.areas.get()
    places: list[Any] = [area_url(area, end), room_url(Room.objects.get(name="Hall"), end)]
    for place in places:
        assert stranger.post(place, {"name": "x"}).status_code == 404
    own = make_house(other, "Own house")
    mixed = f"/houses/{own.public_id}/areas/{area.public_id}/"
    assert stranger.get(mixed).status_code == 404
