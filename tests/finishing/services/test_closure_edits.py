"""Editing when areas are given to others."""

from datetime import date
from typing import Any

import pytest

from finishing.models import Area, Change, Closure, House, User
from finishing.services.closures import ClosureLine, edit_closures
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company())


@pytest.fixture
def area(house: House) -> Area:
    return house.areas.get()


@pytest.fixture
def office(house: House) -> User:
    return User.objects.create(email="office@example.com", company=house.company)


def line(area: Area, first: int, last: int, place: str = "new-1", **more: Any) -> ClosureLine:
    return ClosureLine(place, area, date(2026, 3, first), date(2026, 3, last), **more)


def closed(area: Area, first: int, last: int) -> Closure:
    days = {"first_day": date(2026, 3, first), "last_day": date(2026, 3, last)}
    return Closure.objects.create(company=area.company, area=area, **days)


def test_closures_are_added_changed_and_removed_at_once(
    house: House, area: Area, office: User
) -> None:
    changed, removed, kept = closed(area, 2, 3), closed(area, 5, 6), closed(area, 20, 21)
    edit_closures(
        house=house,
        lines=[
            line(area, 2, 4, "a", public_id=changed.public_id, version=1, reason="Screed"),
            line(area, 5, 6, "b", public_id=removed.public_id, version=1, remove=True),
            line(area, 9, 11, reason="Tilers"),
        ],
        by=office,
        now=MONDAY,
    )
    rows = [(row.last_day.day, row.reason) for row in Closure.objects.order_by("first_day")]
    assert rows == [(4, "Screed"), (11, "Tilers"), (kept.last_day.day, "")]
    kinds = [(row.kind, row.place) for row in Change.objects.all()]
    assert kinds == [(kind, "Ground floor") for kind in ("changed", "removed", "made")]
    assert Change.objects.filter(kind="changed").get().fields == {
        "last_day": ["2026-03-03", "2026-03-04"],
        "reason": [None, "Screed"],
    }


def test_backwards_and_overlapping_days_are_one_fault_each(
    house: House, area: Area, office: User
) -> None:
    closed(area, 20, 25)
    lines = [
        line(area, 9, 5, "new-1"),
        line(area, 25, 26, "new-2"),
        line(area, 26, 28, "new-3"),
    ]
    with pytest.raises(InputFaults) as caught:
        edit_closures(house=house, lines=lines, by=office, now=MONDAY)
    assert [fault.place for fault in caught.value.faults] == [
        "new-1-last_day",
        "new-2-first_day",
        "new-3-first_day",
    ]
    assert "Ground floor is closed from Fri 20 Mar to Wed 25 Mar" in str(caught.value)
    assert Closure.objects.count() == 1


def test_another_areas_closure_on_the_same_days_is_no_fault(
    house: House, area: Area, office: User
) -> None:
    closed(area, 2, 6)
    top = Area.objects.create(company=house.company, house=house, name="Top floor")
    edit_closures(house=house, lines=[line(top, 2, 6)], by=office, now=MONDAY)
    assert top.closures.count() == 1


def test_a_stale_and_a_vanished_closure_are_refused_together(
    house: House, area: Area, office: User
) -> None:
    stale, gone = closed(area, 2, 3), closed(area, 5, 6)
    Closure.objects.filter(pk=stale.pk).update(version=2)
    lines = [
        line(area, 2, 4, "a", public_id=stale.public_id, version=1),
        line(area, 5, 7, "b", public_id=gone.public_id, version=1),
        line(area, 9, 11),
    ]
    gone.delete()
    with pytest.raises(StaleRowsError) as caught:
        edit_closures(house=house, lines=lines, by=office, now=MONDAY)
    assert (caught.value.rows, caught.value.gone) == ((stale,), 1)
    assert Closure.objects.count() == 1


def test_another_companys_closure_is_as_good_as_gone(
    house: House, area: Area, office: User
) -> None:
    other = make_house(make_company("Other Finishing")).areas.get()
    theirs = closed(other, 2, 3)
    lines = [line(area, 2, 9, public_id=theirs.public_id, version=1, remove=True)]
    with pytest.raises(StaleRowsError):
        edit_closures(house=house, lines=lines, by=office, now=MONDAY)
    assert Closure.objects.filter(pk=theirs.pk).exists()
