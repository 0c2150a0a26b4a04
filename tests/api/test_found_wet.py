"""The house page says which coats were found wet, and what that makes of the others."""

from datetime import timedelta

import pytest
from django.utils import timezone

from finishing.models import CoatDone, Crew, House, Room
from finishing.rules.vocabulary import Stage
from scheduling.models import Report
from tests.api.conftest import SignIn
from tests.sites import make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    """A house whose two rooms were taped 26 hours ago, in air that is taken as 20 C and 50 %."""
    company, house = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    ended_at = timezone.now() - timedelta(hours=26)
    CoatDone.objects.create(
        company=company, area=house.areas.get(), stage=Stage.TAPE, ended_at=ended_at
    )
    return house


def find_wet(house: House, room: str) -> Report:
    at = timezone.now() - timedelta(hours=3)
    return Report.objects.create(
        company=house.company,
        crew=Crew.objects.get(),
        kind=Report.Kind.NOT_DRY,
        key=f"{Room.objects.get(name=room).public_id}:{Stage.TAPE}",
        at=at,
        said_at=at,
    )


def page_text(sign_in: SignIn, house: House) -> str:
    response = sign_in(house.company).get(f"/houses/{house.public_id}/air/")
    assert response.status_code == 200
    return " ".join(response.text.split())


def test_nothing_is_said_where_nothing_was_found(sign_in: SignIn, house: House) -> None:
    assert "found wet" not in page_text(sign_in, house)


def test_one_coat_is_named_and_the_others_stay_as_they_were(sign_in: SignIn, house: House) -> None:
    find_wet(house, "Hall")
    text = page_text(sign_in, house)
    assert "Tape coat (Hall) found wet" in text
    assert "% more drying" in text
    assert "The other coats of the house are taken to dry as usual." in text


def test_two_coats_change_the_house_until_one_is_set_aside(sign_in: SignIn, house: House) -> None:
    find_wet(house, "Hall")
    report = find_wet(house, "Kitchen")
    assert "every coat of the house is taken to need" in page_text(sign_in, house)
    report.set_aside, report.version = True, report.version + 1
    report.save()
    text = page_text(sign_in, house)
    assert "every coat of the house" not in text
    assert ": set aside</li>" in text
