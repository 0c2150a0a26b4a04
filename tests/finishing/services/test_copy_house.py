"""Making houses of the same type."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from finishing.models import (
    Area,
    Change,
    Closure,
    CoatDone,
    House,
    JointingSystem,
    JointLine,
    OddJob,
    ReadinessLine,
    Room,
    Surface,
    User,
)
from finishing.services.copy_house import MOST_COPIES, HouseCopy, copy_house
from finishing.services.errors import InputFaults
from tests.factories import make_company, make_house
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
DUE = date(2026, 5, 1)


def copies(house: House, *names: str) -> list[House]:
    office, _ = User.objects.get_or_create(email="office@example.com", company=house.company)
    return copy_house(
        house=house,
        copies=[HouseCopy(name, f"{name} Lane") for name in names],
        handover_on=DUE,
        by=office,
        now=MONDAY,
    )


def shape(house: House) -> list[tuple[Any, ...]]:
    """All that belongs to a house's type, by name."""
    joints = JointLine.objects.filter(surface__room__area__house=house)
    surface = "surface__room__area__system", "surface__room__name", "surface__room__openings"
    return sorted(
        joints.values_list(*surface, "surface__part", "surface__level", "kind", "metres"), key=str
    )


def test_a_copy_has_the_rooms_surfaces_joints_systems_and_levels(db: None) -> None:
    house = make_site(rooms=("Hall", "Kitchen"), level="5")[1]
    system = JointingSystem.objects.filter(company=house.company)[0]
    House.objects.filter(pk=house.pk).update(system=system, volume_m3=210, fire_rated=True)
    house.areas.update(system=system, floor="0")
    Room.objects.filter(name="Hall").update(openings=[{"width_m": 0.9}], length_m=4.0)
    house.refresh_from_db()
    (made,) = copies(house, "Mill House 2")
    assert shape(made) == shape(house) != []
    assert (made.system, made.volume_m3, made.fire_rated) == (system, 210, True)
    assert (made.name, made.address, made.handover_on) == ("Mill House 2", "Mill House 2 Lane", DUE)


def test_no_public_id_is_there_twice(db: None) -> None:
    house = make_site(rooms=("Hall", "Kitchen"))[1]
    copies(house, "Two", "Three")
    for model, count in ((Area, 3), (Room, 6), (Surface, 6), (JointLine, 18)):
        assert len(set(model._default_manager.values_list("public_id"))) == count
    assert Area.objects.filter(house__name="Three").get().rooms.count() == 2


def test_a_copy_has_none_of_what_happened_in_the_house(db: None) -> None:
    house = make_site(
        opens_on=date(2026, 3, 1), access="mon 07:00-12:00", heating="heated", setpoint_c=20
    )[1]
    area, company = house.areas.get(), house.company
    Area.objects.filter(pk=area.pk).update(handover_on=date(2026, 3, 20), version=4)
    ReadinessLine.objects.create(company=company, house=house, item="power", done=True)
    OddJob.objects.create(company=company, house=house, name="Patch", person_minutes=60)
    days = {"first_day": date(2026, 3, 2), "last_day": date(2026, 3, 3)}
    Closure.objects.create(company=company, area=area, **days)
    CoatDone.objects.create(
        company=company, area=area, stage="tape", ended_at=datetime(2026, 3, 1, tzinfo=UTC)
    )
    (made,) = copies(house, "Mill House 2")
    assert (made.opens_on, made.access, made.held_c) == (None, "", None)
    copied = made.areas.get()
    assert (copied.handover_on, copied.version, hasattr(copied, "coat_done")) == (None, 1, False)
    assert not made.readiness.exists()
    assert not made.odd_jobs.exists()
    assert not copied.closures.exists()
    change = Change.objects.get(house=made)
    assert (change.kind, change.fields["copy_of"]) == ("made", [None, "Mill Cottage"])


def test_all_faults_of_the_names_are_said_and_nothing_is_made(db: None) -> None:
    house = make_site()[1]
    make_house(house.company, "Quay House")
    with pytest.raises(InputFaults) as caught:
        copies(house, "Quay House", "Two", "Two", "", "x" * 121)
    said = str(caught.value)
    for part in (
        "called Quay House already",
        "Two is there more than once",
        "copies/2/name: Two is",
        "copies/3/name: It has no name",
        "copies/4/name: The name is too long",
    ):
        assert part in said
    assert House.objects.count() == 2


def test_there_are_limits_to_how_many_are_made_at_once(db: None) -> None:
    house = make_site()[1]
    with pytest.raises(InputFaults, match="21 names"):
        copies(house, *(f"House {number}" for number in range(MOST_COPIES + 1)))
    with pytest.raises(InputFaults, match="a name for each house"):
        copies(house)


def test_a_name_of_another_company_is_free(db: None) -> None:
    house = make_site()[1]
    make_house(make_company("Other Finishing"), "Quay House")
    assert copies(house, "Quay House")[0].company == house.company


def test_more_rooms_take_no_more_queries(
    db: None, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    house = make_site(rooms=[f"Room {number}" for number in range(12)])[1]
    User.objects.create(email="office@example.com", company=house.company)
    with django_assert_max_num_queries(45):
        copies(house, "Two", "Three")
