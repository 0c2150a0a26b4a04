"""What rooms come to: the same figures as plans work with, stored or typed."""

from dataclasses import replace

import pytest

from finishing.models import Area, Room, Surface
from finishing.rules.drying import STAGE_THICKNESS_MM
from finishing.rules.vocabulary import Family, JointKind, RoomKind, Stage
from finishing.services.house_entries import RoomEntry, SurfaceEntry
from finishing.services.rooms import room_entry
from finishing.services.surface_takeoff import taken_off
from scheduling.services.room_work import read_settings, room_stages
from scheduling.services.work_totals import added, house_for_totals, house_totals, room_totals
from tests.sites import make_site

pytestmark = pytest.mark.django_db


def test_stored_rooms_take_the_minutes_that_plans_count_with() -> None:
    company, house = make_site(rooms=("Hall", "Kitchen"), level="5")
    settings = read_settings(company)
    found = house_totals(house_for_totals(company, pk=house.pk), settings)
    for room in Room.objects.select_related("area__house"):
        planned = {s.stage: s.person_minutes for s in room_stages(room, room.area, settings)}
        assert {k: t.person_minutes for k, t in found[room.pk].stages.items()} == planned
        assert planned
    whole = added(found.values())
    assert whole.metres[JointKind.TAPERED] == 2 * 20.0  # see tests/sites.py
    assert (whole.fasteners, whole.area_m2) == (600, 80.0)
    assert whole.all_stages.person_minutes == sum(
        total.person_minutes for one in found.values() for total in one.stages.values()
    )


def test_compound_is_the_wet_litres_of_a_coat_with_waste() -> None:
    company, house = make_site()
    settings = read_settings(company)
    room = Room.objects.get(area__house=house)
    skim = replace(room_entry(room).surfaces[0], level="5")
    entry = replace(room_entry(room), surfaces=(skim,))
    total = room_totals(entry, room.area, settings).stages[Stage.SKIM]
    # 40 m2 to the thickness of a skim coat, a litre a millimetre and m2, and a tenth of waste.
    assert total.litres == pytest.approx(40 * STAGE_THICKNESS_MM[Stage.SKIM] * 1.1)
    assert total.kg > total.litres


def test_a_room_as_typed_stands_in_for_the_stored_one() -> None:
    company, house = make_site(rooms=("Hall", "Kitchen"))
    hall, kitchen = Room.objects.filter(area__house=house)
    bare = replace(room_entry(hall), surfaces=())
    found = house_totals(
        house_for_totals(company, pk=house.pk), read_settings(company), instead={hall.pk: bare}
    )
    assert not found[hall.pk].stages
    assert found[kitchen.pk].stages
    left = house_totals(
        house_for_totals(company, pk=house.pk), read_settings(company), without={hall.pk}
    )
    assert set(left) == {kitchen.pk}


def test_a_stairwell_and_a_high_room_take_longer() -> None:
    company, house = make_site()
    area, settings = Area.objects.get(house=house), read_settings(company)

    def minutes(**fields: object) -> int:
        walls = SurfaceEntry(Surface.Part.WALLS, Family.GA214, "4", Surface.Takeoff.ROOMS)
        sizes = {"length_m": 4.0, "width_m": 3.0, "height_m": 2.5}
        room = RoomEntry("Room", (walls,), **{**sizes, **fields})  # type: ignore[arg-type]
        return room_totals(taken_off(room, company), area, settings).all_stages.person_minutes

    assert minutes(kind=RoomKind.STAIRWELL) > minutes()
    assert minutes(height_m=4.0) > minutes()
