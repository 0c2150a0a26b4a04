"""Ticking off what a house must offer, and editing the whole list."""

from datetime import date

import pytest

from finishing.models import Change, House, ReadinessLine, User
from finishing.rules.vocabulary import Readiness
from finishing.services.errors import InputFaults
from finishing.services.readiness import ReadyLine, State, edit_readiness, tick_readiness
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


def add_line(house: House, item: Readiness, **fields: object) -> ReadinessLine:
    return ReadinessLine.objects.create(company=house.company, house=house, item=item, **fields)


def test_a_tick_is_kept_with_who_made_it_and_can_be_undone(house: House, office: User) -> None:
    line = add_line(house, Readiness.POWER)
    tick_readiness(line=line, done=True, version=1, by=office, now=MONDAY)
    assert ReadinessLine.objects.get().done
    tick_readiness(line=ReadinessLine.objects.get(), done=False, version=2, by=office, now=MONDAY)
    assert not ReadinessLine.objects.get().done
    assert [(row.place, row.by, row.fields) for row in Change.objects.all()] == [
        ("power", office, {"done": [False, True]}),
        ("power", office, {"done": [True, False]}),
    ]


def test_a_second_tick_of_the_same_changes_nothing(house: House, office: User) -> None:
    line = add_line(house, Readiness.POWER, done=True, version=3)
    tick_readiness(line=line, done=True, version=2, by=office, now=MONDAY)
    assert ReadinessLine.objects.get().version == 3
    assert not Change.objects.exists()


def test_the_whole_list_is_edited_at_once(house: House, office: User) -> None:
    add_line(house, Readiness.POWER)
    add_line(house, Readiness.WATER)
    add_line(house, Readiness.HEAT, owed_by="Plumber")
    day = date(2026, 3, 4)
    lines = [
        ReadyLine(Readiness.POWER, State.DONE, version=1),
        ReadyLine(Readiness.WATER, State.NOT_ASKED, version=1),
        ReadyLine(Readiness.LIGHT, State.OPEN, day, "Electrician"),
    ]
    edit_readiness(house=house, lines=lines, by=office, now=MONDAY)
    rows = {row.item: row for row in house.readiness.all()}
    assert rows.keys() == {"power", "heat", "light"}
    assert rows["power"].done
    assert (rows["light"].expected_on, rows["light"].owed_by) == (day, "Electrician")
    assert {(row.place, row.kind) for row in Change.objects.all()} == {
        ("power", "changed"),
        ("water", "removed"),
        ("light", "made"),
    }


def test_all_stale_lines_are_named_and_nothing_is_kept(house: House, office: User) -> None:
    add_line(house, Readiness.POWER, version=2)
    add_line(house, Readiness.HEAT, version=2)
    add_line(house, Readiness.LIGHT)
    lines = [
        ReadyLine(Readiness.POWER, State.DONE, version=1),
        ReadyLine(Readiness.HEAT, State.NOT_ASKED, version=1),
        ReadyLine(Readiness.WATER, State.OPEN, version=4),
        ReadyLine(Readiness.LIGHT, State.DONE, version=1),
    ]
    with pytest.raises(StaleRowsError) as caught:
        edit_readiness(house=house, lines=lines, by=office, now=MONDAY)
    assert [getattr(row, "item", "") for row in caught.value.rows] == ["power", "heat"]
    assert caught.value.gone == 1
    assert not house.readiness.filter(done=True).exists()


def test_a_line_made_in_another_tab_is_not_written_over(house: House, office: User) -> None:
    add_line(house, Readiness.POWER, owed_by="Electrician")
    for state in (State.OPEN, State.NOT_ASKED):
        if state is State.NOT_ASKED:
            with pytest.raises(StaleRowsError):
                edit_readiness(
                    house=house, lines=[ReadyLine(Readiness.POWER, state)], by=office, now=MONDAY
                )
            continue
        with pytest.raises(StaleRowsError):
            edit_readiness(
                house=house,
                lines=[ReadyLine(Readiness.POWER, state, owed_by="Builder")],
                by=office,
                now=MONDAY,
            )


def test_a_day_of_what_is_not_asked_for_is_a_fault_of_each(house: House, office: User) -> None:
    lines = [
        ReadyLine(Readiness.POWER, State.NOT_ASKED, expected_on=date(2026, 3, 4)),
        ReadyLine(Readiness.WATER, State.NOT_ASKED, owed_by="Plumber"),
    ]
    with pytest.raises(InputFaults) as caught:
        edit_readiness(house=house, lines=lines, by=office, now=MONDAY)
    assert [fault.place for fault in caught.value.faults] == ["power-state", "water-state"]
