"""``manage.py thickness``: what was found wet is listed, set aside and counted again."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from finishing.models import CoatDone, Company, Crew, House, Room
from finishing.rules.vocabulary import Stage
from scheduling.models import Report
from tests.factories import local
from tests.sites import make_site

pytestmark = pytest.mark.django_db

TODAY = ("--today", "2026-03-03")
FACTOR = "Since Tue 3 Mar 08:00 every coat of the house is taken to need"


def output(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out, stderr=StringIO())
    return out.getvalue()


@pytest.fixture
def house() -> House:
    """A house taped by ten on Monday, of which two rooms were found wet on Tuesday at eight."""
    company, house = make_site(rooms=("Hall", "Kitchen"), system="All-purpose drying")
    taped = local("2026-03-02 10:00")
    area = house.areas.get()
    CoatDone.objects.create(company=company, area=area, stage=Stage.TAPE, ended_at=taped)
    for room in Room.objects.filter(area=area).order_by("position"):
        at = taped + timedelta(hours=22)
        Report.objects.create(
            company=company,
            crew=Crew.objects.get(),
            kind=Report.Kind.NOT_DRY,
            key=f"{room.public_id}:{Stage.TAPE}",
            at=at,
            said_at=at,
        )
    return house


def test_it_lists_the_reports_and_what_they_come_to(house: House) -> None:
    said = output("thickness", house.name, *TODAY).splitlines()
    assert said[0].startswith("1. Tape coat (Hall) found wet Tue 3 Mar 08:00: it needs 4")
    assert said[1].startswith("2. Tape coat (Kitchen) found wet")
    assert said[2].startswith(FACTOR)
    assert said[2].endswith("% more drying.")


def test_reports_are_set_aside_and_counted_again(house: House) -> None:
    before = output("thickness", house.name, *TODAY)
    aside = output("thickness", house.name, "--set-aside", "2", *TODAY).splitlines()
    assert aside[0] == "manage.py replan plans with it"
    assert aside[2] == "2. Tape coat (Kitchen) found wet Tue 3 Mar 08:00: set aside"
    assert aside[3] == "The other coats of the house are taken to dry as usual."
    again = output("thickness", house.name, "--count-again", "2", *TODAY)
    assert again == f"manage.py replan plans with it\n{before}"


def test_before_the_look_nothing_was_found(house: House) -> None:
    said = output("thickness", house.name, "--today", "2026-03-02")
    assert said == f"{house}: no coat was found wet\n"


def test_unknown_numbers_and_houses_are_named(house: House) -> None:
    with pytest.raises(CommandError, match="2 faults: nothing was changed"):
        output("thickness", house.name, "--set-aside", "1", "3", "4", *TODAY)
    assert not Report.objects.filter(set_aside=True).exists()
    with pytest.raises(CommandError, match="no house 'Nowhere'"):
        output("thickness", "Nowhere")


def test_a_house_of_another_company_is_not_found(house: House) -> None:
    Company.objects.create(name="Other", zone="UTC")
    with pytest.raises(CommandError, match="no house"):
        output("thickness", house.name, "--company", "Other")
