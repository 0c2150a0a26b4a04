"""Any small company of closed houses gets a plan that holds in the air of its own coats."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishing.models import Company, House
from scheduling.services.engine import Solved
from scheduling.services.inputs import WetHouses, build_inputs
from scheduling.services.proposing import Proposal, Proposed
from scheduling.services.rounds import settle
from scheduling.services.settling import Settling
from scheduling.solver.change import Current, change_between
from scheduling.solver.outcome import Limits, Outcome
from scheduling.solver.problem import Problem
from scheduling.solver.release import broken_rules
from scheduling.solver.solve import solve
from tests.scheduling.services.test_any_company import FIRST_DAY, companies
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db

LIMITS = Limits(work=2, seconds=None, workers=1)
some_days = st.none() | st.integers(-40, 60).map(lambda n: FIRST_DAY + timedelta(days=n))


@st.composite
def wet_companies(draw: st.DrawFn) -> Company:
    company = draw(companies())
    for house in House.objects.filter(company=company):
        house.is_open = draw(st.booleans())
        house.closed_from = draw(some_days)
        house.heated_from = draw(some_days)
        house.heat_kw = draw(st.none() | st.floats(0, 20))
        house.flame_heater = draw(st.booleans())
        house.volume_m3 = draw(st.none() | st.floats(5, 800))
        house.air_changes_per_h = draw(st.sampled_from([0.0, 0.3, 1.0, 20.0]))
        house.save()
    company.planned_air = draw(st.sampled_from(Company.PlannedAir.values))
    company.save()
    return company


def solved(problem: Problem) -> Outcome:
    return solve(problem, LIMITS, lambda: 0.0)


def proposed(problem: Problem, current: Current) -> Proposed:
    outcome = solved(problem)
    change = change_between(problem, current.seen, outcome.placements)
    return Proposed((Proposal(outcome, change),))


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_any_company_of_closed_houses_agrees_with_its_air(data: st.DataObject) -> None:
    with transaction.atomic():
        company = data.draw(wet_companies())
        found = settle(
            Settling(company, MONDAY),
            lambda problem, _: Solved(solved(problem)),
            lambda problem, current, _: proposed(problem, current),
        ).agreed
        ends = {
            place.task: found.inputs.timeline.instant(place.end)
            for place in found.outcome.placements
        }
        own = build_inputs(company=company, now=MONDAY, wet=WetHouses(ends))
        assert own.problem == found.inputs.problem
        plan = replace(found.outcome, history=())
        assert broken_rules(own.problem, plan) == []
        for air in own.airs.values():
            assert (air.humidity >= 0).all()
            assert (air.humidity <= 1).all()
            assert (air.progress[1:] >= air.progress[:-1]).all()
        transaction.set_rollback(True)
