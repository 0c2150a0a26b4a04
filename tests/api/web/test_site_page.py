"""The page on which the office edits readiness, closures and what a house is like."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import Area, Closure, Dryer, House, ReadinessLine
from finishing.rules.vocabulary import Readiness
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db


def site_of(house: House, part: str = "") -> str:
    return f"/houses/{house.public_id}/site/" + (f"{part}/" if part else "")


def ready(**lines: str) -> dict[str, Any]:
    """The readiness form as a browser sends it; lines: by item its state."""
    sent: dict[str, Any] = {}
    for item in Readiness:
        state = lines.get(item, "")
        sent |= {f"{item}-version": 0, f"{item}-state": state}
        sent |= {f"{item}-expected_on": "", f"{item}-owed_by": ""}
    return sent


def new_closure(area: Area | None, first: str, last: str, number: int = 1) -> dict[str, Any]:
    place = f"new-{number}"
    return {
        f"{place}-version": 0,
        f"{place}-area": str(area.public_id) if area else "",
        f"{place}-first_day": first,
        f"{place}-last_day": last,
        f"{place}-reason": "Tilers",
    }


def facts(house: House, **typed: Any) -> dict[str, Any]:
    sent = {
        "version": house.version,
        "name": house.name,
        "address": "",
        "zone": house.zone,
        "weight": house.weight,
        "latitude": "" if house.latitude is None else house.latitude,
        "longitude": "" if house.longitude is None else house.longitude,
        "handover_on": "2026-03-27",
        "heating": "unheated",
        "air_changes_per_h": "1",
    }
    for area in house.areas.all():
        place = f"area-{area.public_id}"
        sent |= {f"{place}-version": area.version, f"{place}-floor": "", f"{place}-handover_on": ""}
    return {**sent, **typed}


@pytest.fixture
def house() -> House:
    return make_house(make_company(), is_open=False)


@pytest.fixture
def client(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def test_the_readiness_list_is_saved_as_a_whole(client: Client, house: House) -> None:
    sent = ready(power="done", water="open") | {
        "water-expected_on": "2026-03-04",
        "water-owed_by": "Plumber",
    }
    response = client.post(site_of(house, "readiness"), sent)
    assert response["Location"] == site_of(house) + "?saved=readiness#readiness"
    rows = {row.item: row for row in ReadinessLine.objects.all()}
    assert rows.keys() == {"power", "water"}
    assert (rows["water"].expected_on, rows["water"].owed_by) == (date(2026, 3, 4), "Plumber")
    assert "Saved." in client.get(response["Location"]).content.decode()


def test_all_faults_of_the_list_are_shown_and_what_was_typed_stays(
    client: Client, house: House
) -> None:
    sent = ready() | {
        "power-expected_on": "yesterday",
        "light-expected_on": "0026-03-04",
        "water-owed_by": "Plumber",
    }
    response = client.post(site_of(house, "readiness"), sent)
    text = response.content.decode()
    assert response.status_code == 422
    for part in (
        'href="#id_power-expected_on"',
        "check the year",
        'href="#id_water-state"',
        'value="Plumber"',
        'value="yesterday"',
        'aria-invalid="true"',
    ):
        assert part in text
    assert not ReadinessLine.objects.exists()


def test_a_list_from_a_second_tab_is_refused_and_kept_when_sent_again(
    client: Client, house: House
) -> None:
    client.post(site_of(house, "readiness"), ready(power="done"))
    stale = client.post(site_of(house, "readiness"), ready(power="open"))
    text = stale.content.decode()
    assert stale.status_code == 409
    assert "Power: done" in text
    assert 'name="power-version" value="1"' in text
    again = client.post(site_of(house, "readiness"), ready(power="open") | {"power-version": 1})
    assert again.status_code == 302
    assert not ReadinessLine.objects.get().done


def test_a_closure_is_added_changed_and_removed(client: Client, house: House) -> None:
    area = house.areas.get()
    blank = new_closure(None, "", "", 2) | {"new-2-reason": ""}
    sent = new_closure(area, "2026-03-09", "2026-03-11") | blank
    client.post(site_of(house, "closures"), sent)
    row = Closure.objects.get()
    place = f"closure-{row.public_id}"
    changed = {
        f"{place}-version": 1,
        f"{place}-area": str(area.public_id),
        f"{place}-first_day": "2026-03-10",
        f"{place}-last_day": "2026-03-11",
    }
    client.post(site_of(house, "closures"), changed)
    assert Closure.objects.get().first_day == date(2026, 3, 10)
    client.post(
        site_of(house, "closures"), changed | {f"{place}-version": 2, f"{place}-remove": "on"}
    )
    assert not Closure.objects.exists()


def test_backwards_overlapping_and_missing_days_are_shown_at_once(
    client: Client, house: House
) -> None:
    area = house.areas.get()
    sent = new_closure(area, "2026-03-11", "2026-03-09") | new_closure(None, "", "2026-03-09", 2)
    text = client.post(site_of(house, "closures"), sent).content.decode()
    assert "Ground floor: the last day is before the first: swap them." in text
    assert "Choose the area." in text
    assert "Choose the first day." in text
    assert not Closure.objects.exists()


def test_an_area_of_another_house_is_no_choice(client: Client, house: House) -> None:
    other = make_house(house.company, "Quay House").areas.get()
    sent = new_closure(other, "2026-03-09", "2026-03-11")
    assert client.post(site_of(house, "closures"), sent).status_code == 422
    assert not Closure.objects.exists()


def test_a_closure_removed_in_another_tab_is_said_to_be_gone(client: Client, house: House) -> None:
    area = house.areas.get()
    client.post(site_of(house, "closures"), new_closure(area, "2026-03-09", "2026-03-11"))
    row = Closure.objects.get()
    place = f"closure-{row.public_id}"
    sent = {f"{place}-version": 1, f"{place}-area": str(area.public_id)}
    sent |= {f"{place}-first_day": "2026-03-10", f"{place}-last_day": "2026-03-11"}
    Closure.objects.filter(pk=row.pk).update(version=2)
    text = client.post(site_of(house, "closures"), sent).content.decode()
    assert "Ground floor: closed Mon 9 Mar to Wed 11 Mar, Tilers" in text
    assert 'value="2026-03-10"' in text


def test_the_house_and_its_areas_are_saved(client: Client, house: House) -> None:
    area = house.areas.get()
    typed = {
        "heating": "heated",
        "setpoint_c": "19,5",
        "access": "mon-fri 07:00-17:00",
        "old_joints": "on",
        f"area-{area.public_id}-handover_on": "2026-03-20",
    }
    response = client.post(site_of(house, "facts"), facts(house, **typed))
    assert response.status_code == 302
    house.refresh_from_db()
    area.refresh_from_db()
    assert (house.held_c, house.old_joints) == (19.5, True)
    assert area.handover_on == date(2026, 3, 20)


def test_all_faults_of_the_house_are_shown_at_once(client: Client, house: House) -> None:
    typed = {"access": "sometimes", "volume_m3": "-4", "opens_on": "2026-05-01", "name": ""}
    response = client.post(site_of(house, "facts"), facts(house, **typed))
    text = response.content.decode()
    for field in ("name", "access", "volume_m3", "opens_on"):
        assert f'href="#id_{field}"' in text
    assert 'value="sometimes"' in text
    house.refresh_from_db()
    assert house.version == 1


def test_a_house_edited_in_another_tab_says_what_it_is_now(client: Client, house: House) -> None:
    client.post(site_of(house, "facts"), facts(house, handover_on="2026-04-02"))
    response = client.post(site_of(house, "facts"), facts(house, address="1 Mill Lane"))
    text = response.content.decode()
    assert response.status_code == 409
    assert "Mill Cottage: Handover: Thu 2 Apr; Address: nothing" in text.replace(
        "Address: nothing; Handover: Thu 2 Apr", "Handover: Thu 2 Apr; Address: nothing"
    )
    assert 'name="version" value="2"' in text


def test_cautions_stand_beside_what_asks_for_them(client: Client, house: House) -> None:
    text = client.get(site_of(house)).content.decode()
    for part in ("carbon monoxide", "may hold asbestos", "Fire-rated lining:", "Local codes"):
        assert part in text
    assert "A portable heater with a flame stands here." not in text
    Dryer.objects.create(
        company=house.company, name="Heater 1", kind="heater", house=house, flame=True, heat_kw=12
    )
    assert (
        "A portable heater with a flame stands here." in client.get(site_of(house)).content.decode()
    )


def test_another_companys_house_is_not_there(sign_in: SignIn, house: House) -> None:
    other = sign_in(make_company("Other Finishing"))
    assert other.get(site_of(house)).status_code == 404
    for part in ("readiness", "closures", "facts"):
        assert other.post(site_of(house, part), ready(power="done")).status_code == 404
    assert not ReadinessLine.objects.exists()


def test_what_is_no_section_is_not_there(client: Client, house: House) -> None:
    assert client.post(site_of(house, "roof"), {}).status_code == 404


def test_a_form_without_its_versions_changes_nothing(client: Client, house: House) -> None:
    for part in ("readiness", "closures", "facts"):
        assert client.post(site_of(house, part), {"name": "Other"}).status_code == 409
    house.refresh_from_db()
    assert house.version == 1


def test_queries_do_not_grow_with_areas_and_closures(
    client: Client, house: House, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(6):
        area = Area.objects.create(company=house.company, house=house, name=f"Floor {number}")
        days = {"first_day": date(2026, 3, 2), "last_day": date(2026, 3, 3)}
        Closure.objects.create(company=house.company, area=area, **days)
        ReadinessLine.objects.create(
            company=house.company, house=house, item=list(Readiness)[number]
        )
    with django_assert_max_num_queries(15):
        client.get(site_of(house))


def test_a_house_gets_a_place_a_clock_and_a_weight(client: Client, house: House) -> None:
    typed = {"zone": "Europe/Dublin", "latitude": "53,35", "longitude": "-6.26", "weight": "3"}
    assert client.post(site_of(house, "facts"), facts(house, **typed)).status_code == 302
    house.refresh_from_db()
    assert (house.zone, house.latitude, house.longitude, house.weight) == (
        "Europe/Dublin",
        53.35,
        -6.26,
        3,
    )
    assert client.get(site_of(house)).status_code == 200


def test_a_place_a_clock_and_a_weight_that_cannot_be(client: Client, house: House) -> None:
    typed = {"zone": "Dublin", "latitude": "53.35", "weight": "0"}
    response = client.post(site_of(house, "facts"), facts(house, **typed))
    assert response.status_code == 422
    for said in ("is not an IANA time zone", "greater than or equal to 1"):
        assert said in response.text
    response = client.post(site_of(house, "facts"), facts(house, longitude="200"))
    assert "less than or equal to 180" in response.text
    response = client.post(site_of(house, "facts"), facts(house, latitude="53.35"))
    assert "Latitude and longitude go together" in response.text
    house.refresh_from_db()
    assert house.version == 1
