"""Many rows brought in line at once, as one by one."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from finishing.models import Area, House
from finishing.services.many_rows import Wanted, put_only, put_rows
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company())


def floors(house: House, *names: str, floor: str = "1") -> list[Wanted]:
    return [
        Wanted({"company": house.company, "house": house, "name": name}, {"floor": floor})
        for name in names
    ]


def test_rows_come_in_the_order_in_which_they_are_wanted(house: House) -> None:
    rows = put_rows(house.areas.all(), floors(house, "Loft", "Ground floor", "Annexe"))
    assert [row.name for row in rows] == ["Loft", "Ground floor", "Annexe"]
    assert all(Area.objects.get(pk=row.pk).public_id == row.public_id for row in rows)


def test_a_version_is_counted_up_where_something_differs(house: House) -> None:
    put_rows(house.areas.all(), floors(house, "Loft", "Annexe"))
    put_rows(
        house.areas.all(), [*floors(house, "Loft", floor="2"), *floors(house, "Annexe", "Cellar")]
    )
    stored = {area.name: (area.floor, area.version) for area in house.areas.all()}
    assert stored == {
        "Ground floor": ("", 1),
        "Loft": ("2", 2),
        "Annexe": ("1", 1),
        "Cellar": ("1", 1),
    }


def test_a_row_that_is_not_in_order_keeps_all_from_being_stored(house: House) -> None:
    wanted = [*floors(house, "Ground floor", "Loft"), *floors(house, "Annexe", floor="x" * 61)]
    with pytest.raises(ValidationError, match="at most 60 characters"):
        put_rows(house.areas.all(), wanted)
    assert [(area.name, area.version) for area in house.areas.all()] == [("Ground floor", 1)]


def test_a_row_that_refers_to_none_is_refused_by_the_database() -> None:
    lost = House(pk=10**9, company=make_company())
    with transaction.atomic():
        put_rows(Area.objects.filter(house=lost), floors(lost, "Loft"))
        with pytest.raises(IntegrityError, match="house_id"):
            connection.check_constraints()  # as at the end of a transaction
        transaction.set_rollback(True)


def test_only_what_is_wanted_stays(house: House) -> None:
    other = make_house(house.company, "Other")
    put_only(house.areas.all(), floors(house, "Loft"))
    assert [area.name for area in house.areas.all()] == ["Loft"]
    assert other.areas.count() == 1
    put_only(house.areas.all(), [])
    assert not house.areas.exists()
