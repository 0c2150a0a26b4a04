"""Editing what a house is like, and its areas' own days."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from finishing.models import Change, House, User
from finishing.services.errors import InputFaults
from finishing.services.house_facts import AreaDays, edit_house_facts
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company())


def edit(house: House, version: int = 1, areas: list[AreaDays] | None = None, **facts: Any) -> None:
    office, _ = User.objects.get_or_create(email="office@example.com", company=house.company)
    edit_house_facts(
        house=house, version=version, facts=facts, areas=areas or [], by=office, now=MONDAY
    )


def test_the_house_and_its_areas_are_edited_together_and_logged(house: House) -> None:
    area = house.areas.get()
    days = AreaDays("area", area, 1, floor="0", handover_on=date(2026, 3, 20))
    edit(house, areas=[days], heating="heated", setpoint_c=19.5, access="mon-fri 07:00-17:00")
    house.refresh_from_db()
    area.refresh_from_db()
    assert (house.held_c, house.access, house.version) == (19.5, "mon-fri 07:00-17:00", 2)
    assert (area.floor, area.handover_on, area.version) == ("0", date(2026, 3, 20), 2)
    changes = {row.what: row.fields for row in Change.objects.all()}
    assert changes["house"]["setpoint_c"] == [None, 19.5]
    assert changes["area"] == {"floor": [None, "0"], "handover_on": [None, "2026-03-20"]}


def test_all_that_does_not_fit_together_is_said_at_once(house: House) -> None:
    make_house(house.company, "Quay House")
    early = AreaDays("area", house.areas.get(), 1, handover_on=date(2026, 3, 1))
    with pytest.raises(InputFaults) as caught:
        edit(
            house,
            areas=[early],
            name="Quay House",
            opens_on=date(2026, 4, 1),
            handover_on=date(2026, 3, 27),
            heating="heated",
            setpoint_c=None,
            is_open=False,
            closed_from=date(2026, 3, 3),
        )
    assert [fault.place for fault in caught.value.faults] == [
        "name",
        "opens_on",
        "setpoint_c",
        "closed_from",
        "area-handover_on",
    ]
    assert House.objects.get(pk=house.pk).version == 1


def test_a_heated_from_day_asks_for_heating(house: House) -> None:
    with pytest.raises(InputFaults, match="not heated"):
        edit(house, heating="unheated", heated_from=date(2026, 3, 3))


def test_a_name_that_another_company_has_is_free(house: House) -> None:
    make_house(make_company("Other Finishing"), "Quay House")
    edit(house, name="Quay House")
    assert House.objects.get(pk=house.pk).name == "Quay House"


def test_a_figure_that_no_house_has_is_refused(house: House) -> None:
    with pytest.raises(ValidationError):
        edit(house, air_changes_per_h=900.0)


def test_a_stale_house_and_a_stale_area_are_refused_together(house: House) -> None:
    area = house.areas.get()
    House.objects.filter(pk=house.pk).update(version=2)
    type(area).objects.filter(pk=area.pk).update(version=5)
    with pytest.raises(StaleRowsError) as caught:
        edit(house, areas=[AreaDays("area", area, 1, floor="0")], access="mon 07:00-12:00")
    assert set(caught.value.rows) == {house, area}
    assert not Change.objects.exists()
