"""Quotes: what a house would take and cost, when the plan could promise it, and that nobody is told
of it before it is won."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection, transaction

from finishing.models import Area, Change, House, Price, Quote, Room, User
from finishing.services.errors import InputFaults
from finishing.services.quotes import change_quote, make_quote, remove_quote, win_quote
from finishing.services.rows import StaleRowsError
from scheduling.models import Plan, PlannedTask, PlanRun
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs, WhatIf
from scheduling.services.quotes import (
    NoHouseError,
    asked_house,
    keep_found,
    price_found,
    supposed_house,
)
from tests.factories import make_house
from tests.plans import first_plan
from tests.quotes import FOUND, ROOMS, quote_like, worked_out
from tests.sites import MONDAY, make_site

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("unsearched")]
COUNTED = (House, Area, Room, Plan, PlannedTask, PlanRun, Change)


@pytest.fixture
def house() -> House:
    company, house = make_site()
    for kind, amount in (("hour", 4500), ("late_day", 99999)):
        Price.objects.create(company=company, kind=kind, amount=amount, since=date(2026, 1, 1))
    first_plan(company)
    return house


@pytest.fixture
def by(house: House) -> User:
    return User.objects.create(email="office@example.com", company=house.company)


def counts() -> list[int]:
    return [model._default_manager.count() for model in COUNTED]


def test_a_quote_is_worked_out_and_leaves_no_trace(house: House) -> None:
    before = counts()
    tasks = list(PlannedTask.objects.order_by("pk").values())
    quote = worked_out(quote_like(house, margin_percent=20))
    assert counts() == before
    assert list(PlannedTask.objects.order_by("pk").values()) == tasks
    found = quote.found
    assert 0 <= found["in_time"] <= 1
    assert found["cost"]["labour"] == found["person_minutes"] * 75  # 45.00 an hour
    assert found["cost"]["late"] == 0
    assert price_found(quote) == round(sum(found["cost"].values()) * 1.2)
    assert found["material"]["kg"] > found["material"]["powder_kg"] > 0
    assert found["holds"] == []
    assert date.fromisoformat(found["handover_on"]) > MONDAY.date()


def test_the_promise_comes_after_work_that_stays_where_it_is(house: House) -> None:
    """With the crew's weeks full of the house that is planned, another of the same type cannot be
    done as early as it could alone."""
    quote = worked_out(quote_like(house))
    beside = quote.found["handover_on"]
    PlannedTask.objects.all().delete()
    alone = worked_out(quote).found["handover_on"]
    assert alone <= beside


def test_nothing_of_a_quote_is_planned(house: House) -> None:
    quote_like(house)
    inputs = build_inputs(company=house.company, now=MONDAY)
    assert {*inputs.houses} == {str(house.public_id)}


@pytest.mark.parametrize("is_like", [True, False])
def test_its_house_is_planned_as_if_its_rows_were_there(house: House, *, is_like: bool) -> None:
    """They are gone by then: all that planning asks of them was read while they were there."""
    values: dict[str, Any] = {"opens_on": date(2026, 5, 4)}  # the last of all houses
    if not is_like:
        values |= {"rooms": ROOMS, "level": "4"}
    quote = quote_like(house if is_like else None, **values)
    with transaction.atomic():
        supposed = supposed_house(quote, MONDAY)
        there = build_inputs(company=house.company, now=MONDAY).problem
        transaction.set_rollback(True)
    assert not House.objects.filter(name=quote.name).exists()
    beside = WhatIf(more_houses=(supposed,))
    assert build_inputs(company=house.company, now=MONDAY, what_if=beside).problem == there
    assert str(supposed.public_id) in {task.house for task in there.tasks}


def test_others_write_while_a_quote_is_planned(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A database in a file has one who writes at a time, and planning takes a while."""
    others_wait: list[bool] = []

    def building(**asked: Any) -> PlanInputs:
        others_wait.append(connection.in_atomic_block)
        return build_inputs(**asked)

    monkeypatch.setattr("scheduling.services.quotes.build_inputs", building)
    worked_out(quote_like(house))
    assert others_wait == [False]


def test_rooms_by_their_m2_are_enough(house: House) -> None:
    quote = worked_out(quote_like(None, rooms=ROOMS, level="4"))
    found = quote.found
    assert found["person_minutes"] > 0
    assert price_found(quote) == sum(found["cost"].values()) > 0


def test_a_won_quote_is_a_house_like_any_other(house: House, by: User) -> None:
    quote = quote_like(house, opens_on=date(2026, 3, 9))
    due = date(2026, 4, 10)
    won = win_quote(quote=quote, version=quote.version, handover_on=due, by=by, now=MONDAY)
    quote.refresh_from_db()
    assert quote.won == won
    assert (won.name, won.handover_on, won.is_active) == ("Ash Row 1", due, True)
    assert won.opens_on == date(2026, 3, 9)
    assert str(won.public_id) in build_inputs(company=house.company, now=MONDAY).houses
    with pytest.raises(StaleRowsError):
        win_quote(quote=quote, version=1, handover_on=due, by=by, now=MONDAY + timedelta(1))
    assert House.objects.count() == 2


def test_a_won_house_is_heated_as_the_quote_says_whatever_the_one_is_that_it_is_like(
    house: House,
) -> None:
    House.objects.update(heating="heated", setpoint_c=21.0)
    cold = quote_like(house)
    from_day = {"setpoint_c": 18.0, "heated_from": date(2026, 3, 9)}
    warm = quote_like(None, name="Ash Row 2", rooms=ROOMS, level="4", **from_day)
    due = date(2026, 4, 10)
    won = [
        win_quote(quote=quote, version=quote.version, handover_on=due, by=None, now=MONDAY)
        for quote in (cold, warm)
    ]
    assert [(row.held_c, row.heated_from) for row in won] == [
        (None, None),
        (18.0, date(2026, 3, 9)),
    ]


def test_a_quote_is_won_once(house: House, by: User) -> None:
    quote = quote_like(house)
    due = date(2026, 4, 1)
    won = win_quote(quote=quote, version=quote.version, handover_on=due, by=by, now=MONDAY)
    House.objects.filter(pk=won.pk).update(name="Ash Row, plot 1")
    stored = Quote.objects.get()
    with pytest.raises(InputFaults, match="plot 1"):
        win_quote(quote=stored, version=stored.version, handover_on=due, by=by, now=MONDAY)


def test_a_quote_whose_house_is_gone_says_so(house: House) -> None:
    bare = make_house(house.company, "Bare", rooms=())
    quote = quote_like(bare)
    bare.delete()
    quote.refresh_from_db()
    with pytest.raises(NoHouseError, match="removed"):
        asked_house(quote, now=MONDAY)


def test_what_was_found_is_forgotten_once_it_rests_on_what_is_otherwise(house: House) -> None:
    quote = quote_like(house)
    keep_found(quote=quote, found=FOUND, now=MONDAY)
    quote = Quote.objects.get()
    price = price_found(quote)
    assert price is not None
    change_quote(quote=quote, version=quote.version, values={"margin_percent": 100.0})
    assert price_found(Quote.objects.get()) == 2 * price
    with pytest.raises(InputFaults):
        change_quote(quote=quote, version=quote.version, values={"rooms": ROOMS, "level": "4"})
    with pytest.raises(StaleRowsError):
        change_quote(quote=quote, version=1, values={"name": "Ash Row 2"})
    changed = {"like": None, "rooms": ROOMS, "level": "4"}
    change_quote(quote=Quote.objects.get(), version=quote.version, values=changed)
    stored = Quote.objects.get()
    assert (stored.found, stored.found_at, stored.name) == ({}, None, "Ash Row 1")
    with pytest.raises(StaleRowsError):
        remove_quote(quote=stored, version=stored.version - 1)
    remove_quote(quote=stored, version=stored.version)
    assert not Quote.objects.exists()


@pytest.mark.parametrize("values", [{"setpoint_c": 19.0}, {"heated_from": date(2026, 3, 9)}])
def test_what_was_found_is_forgotten_once_it_is_heated_otherwise(
    house: House, values: dict[str, Any]
) -> None:
    quote = quote_like(house, setpoint_c=18.0)
    keep_found(quote=quote, found=FOUND, now=MONDAY)
    change_quote(quote=Quote.objects.get(), version=quote.version, values=values)
    assert Quote.objects.get().found == {}


def test_a_won_quote_stays_as_it_was_won_and_its_house_stays_without_it(
    house: House, by: User
) -> None:
    quote, due = quote_like(house), date(2026, 4, 10)
    win_quote(quote=quote, version=quote.version, handover_on=due, by=by, now=MONDAY)
    quote = Quote.objects.get()
    with pytest.raises(InputFaults):
        change_quote(quote=quote, version=quote.version, values={"name": "Ash Row 2"})
    remove_quote(quote=quote, version=quote.version)
    assert House.objects.filter(name="Ash Row 1").exists()


@pytest.mark.parametrize(
    ("values", "places"),
    [
        ({"like": None}, {"rooms"}),
        ({"rooms": ROOMS, "level": "4"}, {"rooms"}),
        ({"like": None, "rooms": ROOMS, "level": "9"}, {"level"}),
        ({"like": None, "rooms": [*ROOMS, *ROOMS], "level": "4"}, {"rooms"}),
        (
            {"like": None, "level": "", "rooms": [{**ROOMS[0], "walls_m2": 0, "ceiling_m2": 0}]},
            {"level", "rooms"},
        ),
        (
            {"like": None, "level": "4", "rooms": [{**ROOMS[0], "walls_m2": -4.0}]},
            {"rooms"},
        ),
        ({"name": "Mill Cottage"}, {"name"}),
        ({"heated_from": date(2026, 3, 2)}, {"setpoint_c"}),
    ],
)
def test_what_no_quote_may_be(house: House, values: dict[str, Any], places: set[str]) -> None:
    fields = {"name": "Ash", "opens_on": date(2026, 3, 2), "like": house, **values}
    with pytest.raises(InputFaults) as refused:
        make_quote(company=house.company, values=fields)
    assert {fault.place for fault in refused.value.faults} == places
    assert not Quote.objects.exists()


def test_a_house_of_its_name_is_not_written_over(house: House, by: User) -> None:
    quote = quote_like(None, rooms=ROOMS, level="4")
    House.objects.filter(pk=house.pk).update(name="Ash Row 1")
    with pytest.raises(InputFaults):
        win_quote(
            quote=quote, version=quote.version, handover_on=date(2026, 4, 1), by=by, now=MONDAY
        )
    assert Room.objects.count() == 1
