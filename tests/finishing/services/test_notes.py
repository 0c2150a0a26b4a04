"""Notes of a house."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from finishing.models import House, Note, User
from finishing.services.notes import add_note, strike_note
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company())


@pytest.fixture
def office(house: House) -> User:
    return User.objects.create(email="office@example.com", company=house.company)


def test_a_note_is_struck_out_and_stands_again_and_is_never_lost(
    house: House, office: User
) -> None:
    note = add_note(
        house=house, text=" Key at number 4 ", area=house.areas.get(), by=office, now=MONDAY
    )
    assert (note.text, note.at, note.by) == ("Key at number 4", MONDAY, office)
    later = MONDAY + timedelta(hours=1)
    strike_note(note=note, struck=True, version=1, by=office, now=later)
    kept = Note.objects.get()
    assert (kept.text, kept.struck_at, kept.struck_by) == ("Key at number 4", later, office)
    strike_note(note=kept, struck=False, version=2, by=office, now=later)
    assert Note.objects.get().struck_at is None


def test_who_struck_it_out_first_stays(house: House, office: User) -> None:
    note = add_note(house=house, text="Key at number 4", by=office, now=MONDAY)
    strike_note(note=note, struck=True, version=1, by=office, now=MONDAY)
    other = User.objects.create(email="other@example.com", company=house.company)
    strike_note(note=Note.objects.get(), struck=True, version=1, by=other, now=MONDAY)
    assert Note.objects.get().struck_by == office


def test_a_note_changed_meanwhile_is_not_touched(house: House, office: User) -> None:
    note = add_note(house=house, text="Key at number 4", by=office, now=MONDAY)
    with pytest.raises(StaleRowsError):
        strike_note(note=note, struck=True, version=9, by=office, now=MONDAY)
    assert Note.objects.get().struck_at is None


def test_blank_notes_and_areas_of_other_houses_are_refused(house: House, office: User) -> None:
    other = make_house(house.company, "Quay House").areas.get()
    with pytest.raises(ValidationError):
        add_note(house=house, text="  ", by=office, now=MONDAY)
    with pytest.raises(ValidationError, match="another house"):
        add_note(house=house, text="Key", area=other, by=office, now=MONDAY)
    assert not Note.objects.exists()
