"""Any small company with closed houses: what is stored holds in the air of its own coats."""

from datetime import timedelta

import pytest
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st

from finishing.models import Company, House
from scheduling.models import Plan
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import WetHouses
from scheduling.services.replan import request_run, run_replan
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome, Status, Violation
from scheduling.solver.problem import Placement
from scheduling.solver.release import broken_rules
from tests.examples import examples
from tests.scheduling.services.test_any_company import FIRST_DAY, companies
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db
some_days = st.none() | st.integers(-40, 60).map(lambda number: FIRST_DAY + timedelta(days=number))


def _close(data: st.DataObject, house: House) -> None:
    house.is_open = data.draw(st.booleans())
    house.closed_from = data.draw(some_days)
    house.heated_from = data.draw(some_days)
    house.heating = data.draw(st.sampled_from(["heated", "unheated"]))
    house.setpoint_c = data.draw(st.sampled_from([None, 8.0, 18.0, 22.0]))
    house.heat_kw = data.draw(st.none() | st.floats(0, 20))
    house.flame_heater = data.draw(st.booleans())
    house.volume_m3 = data.draw(st.sampled_from([None, 1e6]) | st.floats(5, 800))
    house.air_changes_per_h = data.draw(st.sampled_from([0.0, 0.3, 2.0, 100.0]))
    house.save()


@examples(5, soak=60)
@given(data=st.data())
def test_what_is_stored_holds_in_the_air_of_its_own_coats(data: st.DataObject) -> None:
    with transaction.atomic():
        company = data.draw(companies())
        if data.draw(st.integers(0, 4)) == 0:
            company.planned_air = Company.PlannedAir.EIGHT_IN_TEN
            company.save()
        for house in House.objects.filter(company=company):
            _close(data, house)
        run = request_run(company=company, plan_from=MONDAY, work=2)
        plan = run_replan(run_id=run.pk)
        run.refresh_from_db()
        assert plan is not None, run.error
        assert _broken_in_its_own_air(company, plan) == []
        transaction.set_rollback(True)


def _broken_in_its_own_air(company: Company, plan: Plan) -> list[Violation]:
    """Return the rules that a plan breaks as stored, row by row, in the air of its own coats; what
    it could not place is on hold."""
    wet = WetHouses(dict(plan.tasks.values_list("key", "ends_at")))
    inputs = build_inputs(company=company, now=MONDAY, wet=wet)
    tick = inputs.timeline.tick_after
    places = tuple(
        Placement(row.key, str(row.crew.public_id), tick(row.starts_at), tick(row.ends_at))
        for row in plan.tasks.select_related("crew")
    )
    outcome = Outcome(Status.FEASIBLE, places, score_of(inputs.problem, places))
    faults = broken_rules(inputs.problem, outcome)
    assert plan.holds or not [fault for fault in faults if fault.code == "missing"]
    return [fault for fault in faults if fault.code != "missing"]
