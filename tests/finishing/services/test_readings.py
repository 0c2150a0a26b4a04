"""Readings taken inside a house: of an hour the one counts that was read last."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from finishing.models import AirDay, Crew, House, SentReading
from finishing.services.air import Reading
from finishing.services.readings import note_reading, note_sent_reading
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db

SEVEN = datetime(2026, 3, 2, 7, tzinfo=UTC)


@pytest.fixture
def house() -> House:
    return make_house(make_company())


@pytest.fixture
def crew(house: House) -> Crew:
    return make_crew(house.company)


def read(house: House, minute: float, temperature_c: float, hour: datetime = SEVEN) -> None:
    at = hour + timedelta(minutes=minute)
    note_reading(house=house, reading=Reading(temperature_c, 0.6), at=at)


def stored() -> list[float | None]:
    return list(AirDay.objects.get().temperature_c[7:9])


def test_a_reading_that_is_sent_late_does_not_replace_a_newer_one(crew: Crew, house: House) -> None:
    for minute, temperature_c in ((40, 18.0), (10, 12.0)):
        note_sent_reading(
            sent_as=uuid4(),
            crew=crew,
            house=house,
            reading=Reading(temperature_c, 0.6),
            at=SEVEN + timedelta(minutes=minute),
        )
    assert stored() == [18.0, None]
    assert SentReading.objects.count() == 2


def test_a_newer_reading_of_an_hour_replaces_an_older_one(house: House) -> None:
    read(house, 10, 12.0)
    read(house, 40, 18.0)
    read(house, 40, 18.5)  # put right at once: the same minute, so what comes later counts
    assert stored() == [18.5, None]


def test_another_hour_of_the_day_has_a_newest_reading_of_its_own(house: House) -> None:
    read(house, 5, 14.0, SEVEN + timedelta(hours=1))
    read(house, 50, 12.0)
    assert stored() == [12.0, 14.0]


def test_a_reading_of_which_no_moment_was_kept_is_replaced(house: House) -> None:
    read(house, 40, 18.0)
    AirDay.objects.update(read_s=[])
    read(house, 10, 12.0)
    assert stored() == [12.0, None]
