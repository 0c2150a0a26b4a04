"""Entering how far a half-done house was."""

from datetime import timedelta

import pytest

from finishing.models import Change, CoatDone, Compound, House, User
from finishing.rules.vocabulary import Stage
from finishing.services.coats_done import CoatLine, edit_coats_done
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from tests.factories import make_house
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
FRIDAY = MONDAY - timedelta(days=3)


@pytest.fixture
def house(db: None) -> House:
    return make_site()[1]


def edit(house: House, *lines: CoatLine) -> None:
    office, _ = User.objects.get_or_create(email="office@example.com", company=house.company)
    edit_coats_done(house=house, lines=lines, by=office, now=MONDAY)


def test_an_area_is_entered_corrected_and_taken_away_again(house: House) -> None:
    area, compound = house.areas.get(), Compound.objects.filter(company=house.company)[0]
    edit(house, CoatLine("a", area, Stage.TAPE, compound, FRIDAY, "Another firm"))
    row = CoatDone.objects.get()
    assert (row.stage, row.compound, row.ended_at) == ("tape", compound, FRIDAY)
    edit(house, CoatLine("a", area, Stage.SECOND, compound, FRIDAY, "Another firm", version=1))
    assert CoatDone.objects.get().stage == "second"
    edit(house, CoatLine("a", area, None, version=2))
    assert not CoatDone.objects.exists()
    changes = list(Change.objects.all())
    assert [row.kind for row in changes] == ["made", "changed", "removed"]
    assert changes[1].fields == {"stage": ["tape", "second"]}


def test_all_that_does_not_fit_together_is_said_at_once(house: House) -> None:
    other = make_house(house.company, "Quay House", rooms=())
    area, compound = house.areas.get(), Compound.objects.filter(company=house.company)[0]
    lines = [
        CoatLine("a", area, None, done_by="Another firm"),
        CoatLine("b", area, Stage.SAND, compound),
        CoatLine("c", other.areas.get(), Stage.TAPE, None, MONDAY + timedelta(hours=1)),
    ]
    with pytest.raises(InputFaults) as caught:
        edit(house, *lines)
    assert [fault.place for fault in caught.value.faults] == [
        "a-stage",
        "b-ended_at",
        "b-compound",
        "c-ended_at",
    ]


def test_an_area_entered_in_another_tab_is_not_written_over(house: House) -> None:
    area = house.areas.get()
    CoatDone.objects.create(company=house.company, area=area, stage="tape", ended_at=FRIDAY)
    for line in (CoatLine("a", area, Stage.SECOND, None, FRIDAY), CoatLine("a", area, None)):
        with pytest.raises(StaleRowsError):
            edit(house, line)
    assert CoatDone.objects.get().stage == "tape"
