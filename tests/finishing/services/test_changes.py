"""The log of what people did to a house, and edits from stale pages."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from finishing.models import Change, House, User
from finishing.services.changes import log_change, values_of
from finishing.services.rows import StaleRowsError, change_row, remove_row
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
HANDOVER, CHANGED = ("handover_on", "access"), Change.Kind.CHANGED


def test_a_change_says_who_when_and_from_what_to_what() -> None:
    house = make_house(make_company())
    user = User.objects.create(email="office@example.com", company=house.company)
    before = values_of(house, HANDOVER)
    house.handover_on = date(2026, 4, 1)
    log_change(
        of=house,
        by=user,
        now=MONDAY,
        kind=CHANGED,
        what=Change.What.HOUSE,
        before=before,
        after=values_of(house, HANDOVER),
    )
    change = Change.objects.get(company=house.company)
    assert (change.house, change.by, change.at) == (house, user, MONDAY)
    assert change.fields == {"handover_on": ["2026-03-27", "2026-04-01"]}


def test_a_change_of_nothing_is_not_logged() -> None:
    house = make_house(make_company())
    same = values_of(house, HANDOVER)
    logged = log_change(
        of=house,
        by=None,
        now=MONDAY,
        kind=CHANGED,
        what=Change.What.HOUSE,
        before=same,
        after=same,
    )
    assert logged is None
    assert not Change.objects.exists()


def test_what_is_made_names_no_empty_values() -> None:
    house = make_house(make_company())
    log_change(
        of=house,
        by=None,
        now=MONDAY,
        kind=Change.Kind.MADE,
        what=Change.What.ROOM,
        place="Ground floor, Attic stairs",
        after={"name": "Attic stairs", "length_m": None, "note": "", "house": house},
    )
    change = Change.objects.get()
    assert change.fields == {"name": [None, "Attic stairs"], "house": [None, "Mill Cottage"]}
    assert change.place == "Ground floor, Attic stairs"


def test_of_two_edits_from_the_same_version_the_second_is_refused() -> None:
    house = make_house(make_company())
    first, second = House.objects.get(), House.objects.get()
    assert change_row(first, version=1, values={"access": "mon-fri 07:00-17:00"})
    with pytest.raises(StaleRowsError) as caught:
        change_row(second, version=1, values={"access": "mon-fri 09:00-12:00"})
    assert caught.value.rows == (house,)
    kept = House.objects.get()
    assert (kept.access, kept.version) == ("mon-fri 07:00-17:00", 2)


def test_an_edit_without_a_difference_counts_nothing_up() -> None:
    house = make_house(make_company())
    assert not change_row(house, version=1, values={"access": ""})
    assert House.objects.get().version == 1


def test_a_row_that_would_be_out_of_order_is_refused() -> None:
    house = make_house(make_company())
    with pytest.raises(ValidationError):
        change_row(house, version=1, values={"access": "sometimes"})
    assert House.objects.get().access == ""


def test_a_row_is_removed_only_as_it_was_seen() -> None:
    house = make_house(make_company())
    with pytest.raises(StaleRowsError):
        remove_row(house, version=7)
    remove_row(house, version=1)
    with pytest.raises(StaleRowsError) as caught:
        remove_row(house, version=1)
    assert caught.value.gone == 1
